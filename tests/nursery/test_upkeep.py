"""What needs doing once for a book: one process does it, SQLite's journal is brought into the file
by nobody else, and a damaged file is told."""

import json
import signal
import sqlite3
import threading
import time
from contextlib import closing, contextmanager
from functools import partial

import pytest
from django.db import connection
from django.utils import timezone

from lots.models import Place
from nursery import backup
from nursery.upkeep import checkpoints, soundness, turn
from tests.nursery.conftest import manage, start_server
from tests.nursery.test_frozen_books import BOOKS, thawed
from tests.pages import select


@contextmanager
def serve(folder, how_to_end=signal.SIGTERM):
    """A server that is open; it is ended after, and has said `err` then."""
    process = start_server(folder, "--port=0")
    try:
        process.stdout.readline()
        yield process
        process.send_signal(how_to_end)
        _out, process.err = process.communicate(timeout=60)
    finally:
        process.kill()
        process.communicate()


def wait_for(is_so, seconds: float = 30) -> None:
    until = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < until
        time.sleep(0.05)


def test_a_folder_is_served_once_and_a_stop_that_nobody_asked_for_is_known(folder):
    with serve(folder, signal.SIGKILL) as first:
        wait_for((folder / soundness.FOUND).exists)
        second = manage(folder, "serve", "--port=0")
    assert second.returncode == 1
    assert f"is being served already (by process {first.pid})" in second.stderr
    assert second.stderr.count("\n") == 1
    assert '"broke_off": false' in (folder / soundness.FOUND).read_text()
    with serve(folder) as third:
        wait_for(lambda: '"broke_off": true' in (folder / soundness.FOUND).read_text())
    assert third.returncode == 0
    assert not (folder / soundness.SERVED).exists()


def test_an_older_book_is_backed_up_before_it_is_brought_up_to_date(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    thawed(BOOKS[0], folder / "book.sqlite3")
    with serve(folder) as server:
        pass
    [kept] = [line for line in server.err.splitlines() if "kept in the backup" in line]
    name = kept.split()[-1].rstrip(".")
    assert manage(folder, "restore", str(folder / "backups" / name)).returncode == 0
    assert manage(folder, "audit").returncode == 0


def test_a_book_of_a_newer_version_is_refused_and_left_alone(folder):
    file = folder / "book.sqlite3"
    with closing(sqlite3.connect(file)) as book, book:
        book.execute("INSERT INTO django_migrations (app, name, applied) VALUES (?, ?, ?)",
                     ("lots", "0999_later", "2031-01-01"))  # fmt: skip
    before = file.read_bytes()
    for words in (["serve", "--port=0"], ["exportcsv", str(folder / "out")], ["backup"]):
        done = manage(folder, *words)
        assert done.returncode == 1
        assert "newer version of the program (it knows lots.0999_later)" in done.stderr
    assert file.read_bytes() == before


@pytest.fixture
def watched(monkeypatch):
    """Who is at the daily work, and who has been."""
    now, ever = [], []

    def work(name, over):
        now.append(name)
        ever.append(name)
        over.wait()
        now.remove(name)

    def begin(name):
        closing_ = threading.Event()
        monkeypatch.setattr(turn, "ANYWHERE", [partial(work, name)])
        thread = threading.Thread(target=turn.keep_up, args=[closing_])
        thread.start()
        wait_for(lambda: name in ever or now)
        return closing_, thread

    monkeypatch.setattr(turn, "EVERY", 0.05)
    return now, begin


if connection.vendor == "postgresql":

    def test_of_several_that_serve_a_book_one_has_the_turn_and_the_next_takes_it(site, watched):
        now, begin = watched
        with turn.served_once(), turn.served_once():
            pass
        first, one = begin("one")
        second, other = begin("other")
        time.sleep(0.3)
        assert now == ["one"]
        first.set()
        one.join()
        wait_for(lambda: now)
        second.set()
        other.join()
        wait_for(lambda: not now)

else:

    @pytest.fixture
    def full(site):
        """A book with a journal of some length."""
        Place.objects.bulk_create(Place(name=f"p{n}", walk_order=n) for n in range(20_000))
        return site

    def test_the_journal_goes_into_the_file_only_when_it_is_told(full):
        journal = full.with_name(f"{full.name}-wal")
        small, long = full.stat().st_size, journal.stat().st_size
        assert long > 1_000_000  # by itself SQLite would have begun at 1000 pages
        assert checkpoints.checkpoint(full)[0] * 4096 > 1_000_000
        assert full.stat().st_size > small + 500_000
        Place.objects.create(name="next", walk_order=0)
        assert journal.stat().st_size == long  # begun anew

    def test_nobody_writes_while_it_goes_into_the_file(full, monkeypatch):
        monkeypatch.setattr(checkpoints, "WAIT", 0.1)
        with closing(sqlite3.connect(full, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(sqlite3.OperationalError, match="locked"):
                checkpoints.checkpoint(full)
            other.execute("ROLLBACK")
        assert checkpoints.checkpoint(full)[1] > 0

    def test_who_still_reads_what_was_there_before_loses_nothing(full):
        with closing(sqlite3.connect(full, isolation_level=None)) as reader:
            reader.execute("BEGIN")
            (before,) = reader.execute("SELECT COUNT(*) FROM lots_place").fetchone()
            Place.objects.bulk_create(Place(name=f"q{n}", walk_order=n) for n in range(9_000))
            pages, moved = checkpoints.checkpoint(full)
            assert moved < pages
            assert reader.execute("SELECT COUNT(*) FROM lots_place").fetchone() == (before,)
        pages, moved = checkpoints.checkpoint(full)
        assert moved == pages
        assert Place.objects.count() == before + 9_000

    def test_a_damaged_file_is_told_on_the_page_of_data_and_to_a_monitor(full, client):
        assert soundness.check().is_sound
        checkpoints.checkpoint(full)
        connection.close()
        bytes_ = bytearray(full.read_bytes())
        middle = len(bytes_) // 2 // 4096 * 4096
        bytes_[middle : middle + 4096] = b"\x17" * 4096
        full.write_bytes(bytes_)
        found = soundness.check()
        assert found.faults
        assert soundness.last() == found
        answer = client.get("/healthz")
        assert (answer.status_code, answer.content) == (503, b"the book's file is damaged")
        connection.close()


@pytest.mark.django_db
def test_the_page_of_data_says_whether_the_file_is_sound(client, boss, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    found = soundness.Check(timezone.now(), broke_off=True, faults=[])
    says = {
        True: "was read through",
        False: "file is damaged",
    }
    for faults in ([], ["Tree 7 page 9: never used"]):
        kept = soundness.Check(found.at, found.broke_off, faults)
        (tmp_path / soundness.FOUND).write_text(
            json.dumps({"at": kept.at.isoformat(), "broke_off": True, "faults": faults})
        )
        assert soundness.last() == kept
        assert says[not faults] in " ".join(select(client.get("/data/"), "main"))


def test_what_cannot_be_read_of_the_last_check_is_none(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    assert soundness.last() is None
    for nonsense in ("", "[]", '{"at": "yesterday", "broke_off": false, "faults": []}'):
        (tmp_path / soundness.FOUND).write_text(nonsense)
        assert soundness.last() is None


def test_the_days_backup_is_part_of_it():
    assert backup.daily in turn.ANYWHERE
