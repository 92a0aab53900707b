"""A full disk and a read-only data folder under the real server: who logs is told that it is NOT
saved, nothing is half written, and what was not saved can be sent again.

The disk is a small one in memory, mounted for the test; that needs root, as CI has.
"""

import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pytest

from nursery.serving import THREADS
from tests.attack.site import Phone, loss

SIZE = "24m"  # the static files take a few, the book the rest


@pytest.fixture
def disk():
    """A folder on a disk of its own."""
    # Not in pytest's folders, whose tidying up would stumble over a mount left by a killed run.
    with tempfile.TemporaryDirectory(prefix="strikebook-disk-") as folder:
        small = ["-t", "tmpfs", "-o", f"size={SIZE}", "strikebook"]
        subprocess.run(["mount", *small, folder], check=True)
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", "--lazy", folder], check=True)


@contextmanager
def filled(folder):
    """Not a byte is left on the disk."""
    filler = folder / "filler"
    with filler.open("wb", buffering=0) as file, pytest.raises(OSError, match="No space"):
        write_for_ever(file)
    yield
    filler.unlink()


def write_for_ever(file):
    while True:
        file.write(b"\0" * 4096)


@contextmanager
def read_only(folder, view):
    """The folder is read-only for all that is opened from now on.

    The read-only view is made elsewhere and laid over the folder in one step: what the server
    happens to be writing just then would keep the folder itself from becoming read-only.
    """
    subprocess.run(["mount", "--bind", folder, view], check=True)
    try:
        subprocess.run(["mount", "-o", "remount,bind,ro", view], check=True)
        subprocess.run(["mount", "--bind", view, folder], check=True)
    finally:
        subprocess.run(["umount", "--lazy", view], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", folder], check=True)


def check(phone, lot, uuid):
    return phone.form(f"/lots/{lot}/check/", uuid=uuid, looked_at=10, rooted=4)


def test_a_full_disk(disk, new_book):
    book = new_book(disk / "data")
    [lot] = book.seed(1, 10_000)["lots"]
    with book.served() as server, Phone(server, server.sign_in()) as phone:
        saved, unsaved = [], []
        with filled(disk):
            # What still fits into the files that are there is saved, so say it until it doesn't.
            while len(unsaved) < 5:
                record = loss(lot)
                status, answer = phone.sync(record)
                (saved if status == 200 else unsaved).append(record)
                if status != 200:
                    assert status == 503
                    assert (
                        "NOT all of this was saved: the disk of the server is full" in answer["why"]
                    )
                assert len(saved) < 5000
            uuid = str(uuid4())
            status, page = check(phone, lot, uuid)
            assert status == 503
            assert "This was NOT saved: the disk of the server is full." in page
            assert "Traceback" not in page
            assert phone.ask("GET", f"/lots/{lot}/")[0] == 200  # reading goes on
            assert phone.ask("GET", "/healthz") == (503, "the disk is full")
        assert phone.ask("GET", "/healthz") == (200, "ok")
        told = book.tell()
        assert set(told["stored"]) == {record["uuid"] for record in saved}
        assert told["lots"][lot]["cells_lost"] == len(saved)
        assert told["faults"] == []
        _status, answer = phone.sync(*unsaved)
        assert [one["status"] for one in answer["records"]] == ["saved"] * 5
        assert check(phone, lot, uuid)[0] == 302
    told = book.tell()
    assert len(told["stored"]) == len(saved) + 5 + 1
    assert told["faults"] == []


def test_a_read_only_data_folder(disk, new_book):
    book = new_book(disk / "data")
    [lot] = book.seed(1, 100)["lots"]
    records = [loss(lot) for _ in range(2 * THREADS)]
    with book.served() as server:
        cookies = server.sign_in()
    # Nothing is asked before, so the threads that answer find the folder as it is now.
    with book.served() as server, Phone(server, cookies) as phone:
        with tempfile.TemporaryDirectory() as view, read_only(disk, view):
            answers = [phone.sync(record) for record in records]
            form, page = check(phone, lot, uuid4())
            assert phone.ask("GET", "/healthz") == (503, "the database can't be written")
        assert {status for status, _answer in answers} == {form} == {503}
        assert "NOT all of this was saved" in answers[0][1]["why"]
        assert "This was NOT saved: the data folder of the server" in page
        told = book.tell()
        assert (told["stored"], told["faults"]) == ([], [])
        # As soon as it can be written again it is, by every thread.
        answers = [phone.sync(record) for record in records]
        assert {status for status, _answer in answers} == {200}
        assert phone.ask("GET", "/healthz") == (200, "ok")
