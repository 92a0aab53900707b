"""The production server, as a process of its own: it answers, stops when told, and says what is
wrong in one sentence."""

import json
import signal
import socket
import sqlite3
import time
from contextlib import closing
from http.client import HTTPConnection
from io import StringIO
from urllib.parse import urlsplit

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db.utils import ConnectionHandler
from django.test import override_settings

from nursery import book, serving
from nursery.backup.keeping import LOCK
from tests.nursery.conftest import manage, start_server


@pytest.fixture
def server(folder):
    """What a server on the empty book says when it is open, and its process."""
    with start_server(folder, "--port=0") as process:
        yield [process.stdout.readline().strip() for _line in range(3)], process
        process.kill()


def get(address: str, path: str) -> tuple[int, bytes, str]:
    """Status, body and Cache-Control of what the server answers."""
    with closing(HTTPConnection(urlsplit(address).netloc, timeout=60)) as connection:
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.read(), answer.headers.get("Cache-Control", "")


def test_it_answers_and_stops_when_told(server, folder):
    (desk, phones, _how_to_stop), process = server
    address = desk.removeprefix("On this machine: ")
    assert get(address, "/healthz")[:2] == (200, b"ok")
    hashed = json.loads((folder / "static/staticfiles.json").read_text())["paths"]["css/book.css"]
    status, _body, caching = get(address, f"/static/{hashed}")
    assert (status, "immutable" in caching) == (200, True)
    process.send_signal(signal.SIGTERM)
    _out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert phones.startswith("For phones on the network: http://")
    assert "Traceback" not in err
    assert "createsuperuser" in err  # the book has nobody in it yet


def test_nobody_else_on_the_machine_reads_the_data_folder(folder):
    folder.chmod(0o755)  # as an earlier version left it
    manage(folder, "exportcsv", str(folder / "out"))
    assert folder.stat().st_mode & 0o777 == 0o700
    manage(folder, "backup")
    written = [*(folder / "out").iterdir(), *(folder / "backups").glob("*.zip")]
    assert {path.stat().st_mode & 0o077 for path in written} == {0}


def test_told_to_stop_twice_it_stops_in_order(server, folder):
    """A stop that isn't quick enough for somebody is asked for again. The day's first backup is
    under way then, and is finished."""
    _lines, process = server
    for _time in range(20):
        process.send_signal(signal.SIGTERM)
        time.sleep(0.01)
    _out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert "Traceback" not in err
    kept = [path.suffix for path in (folder / "backups").iterdir() if path.name != LOCK]
    assert kept == [".zip"]


@pytest.mark.django_db
def test_a_port_in_use_is_told():
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {port} of 127.0.0.1 can't be opened"):
            call_command("serve", host="127.0.0.1", port=port, stderr=StringIO())


@pytest.mark.django_db
def test_a_certificate_and_its_key_go_together(tmp_path):
    with pytest.raises(CommandError, match="give both") as told:
        call_command("serve", cert=tmp_path / "a.pem")
    assert told.value.returncode == 2


@pytest.mark.django_db
@override_settings()  # what serving by https sets stays within this test
def test_what_is_no_certificate_is_told(tmp_path):
    paper = tmp_path / "paper"
    paper.write_text("not a certificate")
    with pytest.raises(CommandError, match="PEM"):
        call_command("serve", port=0, cert=paper, key=paper, stderr=StringIO())


def test_the_phones_address_is_the_tags(settings):
    settings.NURSERY_ADDRESS = "https://book.example.org"
    assert serving.phone_address(8000) == "https://book.example.org/"
    settings.NURSERY_ADDRESS = ""
    assert serving.phone_address(8443, secure=True).startswith("https://")
    assert serving.phone_address(8443).endswith(":8443/")


@pytest.fixture
def other_book(tmp_path, monkeypatch):
    """A database without tables, that `nursery.book` looks at."""
    database = {"ENGINE": "django.db.backends.sqlite3", "NAME": tmp_path / "book.sqlite3"}
    other = ConnectionHandler({"default": database})["default"]
    monkeypatch.setattr(book, "connection", other)
    yield other
    other.close()


@pytest.mark.django_db
def test_a_command_without_a_book_says_how_to_make_one(other_book):
    with pytest.raises(CommandError, match=r"no book .* manage.py migrate.* manage.py demo"):
        book.require_book()


@pytest.mark.django_db
def test_a_book_of_an_older_version_is_told(other_book):
    with other_book.cursor() as cursor:
        cursor.execute("CREATE TABLE lots_lot (id integer)")
    with pytest.raises(CommandError, match=r"older version .* manage.py migrate"):
        book.require_book()


@pytest.mark.django_db
def test_a_book_of_today_passes():
    book.require_book()


def test_the_demo_leaves_a_real_book_byte_for_byte_what_it_was(folder):
    file = folder / "book.sqlite3"
    with closing(sqlite3.connect(file)) as real, real:
        real.execute("INSERT INTO lots_place (name, walk_order) VALUES ('1-01', 10)")
    before = file.read_bytes()
    done = manage(folder, "demo", "--no-serve")
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "holds a real book" in done.stderr
    assert file.read_bytes() == before
