"""Backups: made while the book is written to, kept, and due once a day."""

import threading
from datetime import timedelta
from io import StringIO

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from lots import ledger
from lots.ledger.audit import audit
from lots.models import Lot, Move, Place
from nursery import backup
from nursery.backup import BackupFault, keeping, making
from tests.nursery import own_book

pytestmark = pytest.mark.django_db  # only so that there is a database to copy

MOVES = Move._meta.db_table


def test_a_folder_keeps_the_last_and_so_many_before_it(book, tmp_path):
    made = [backup.backup(tmp_path, keep=3).path for _time in range(5)]
    (tmp_path / "strikebook-2020-01-01-000000.zip").write_bytes(b"damaged")
    assert [each.path for each in backup.backups(tmp_path)] == [made[4], made[3], made[2]]
    backup.backup(tmp_path, keep=1)
    assert len(backup.backups(tmp_path)) == 1


def test_the_data_folder_keeps_all_of_today(book):
    made = [backup.backup(keep=1).path for _time in range(3)]
    assert [each.path for each in backup.backups()] == made[::-1]
    assert backup.last_backup().path == made[2]


def test_a_backup_of_a_name_is_nobodys_to_remove(book, tmp_path):
    first = backup.backup(tmp_path / "first.zip").path
    backup.backup(tmp_path / "second.zip", keep=1)
    assert first.exists()
    assert backup.last_backup() is None


def test_another_folder_gets_dated_backups_too(book, tmp_path):
    made = [backup.backup(tmp_path, keep=1).path for _time in range(2)]
    assert list(tmp_path.glob("strikebook-*.zip")) == made[1:]


def test_only_the_nursery_may_read_a_backup(book):
    there = backup.backup().path.parent
    for path in (there, *there.rglob("*")):
        assert path.stat().st_mode & 0o077 == 0 or path.name == keeping.LOCK


def test_a_backup_that_cannot_be_read_back_leaves_nothing(book, settings, monkeypatch):
    def damaged(_path):
        raise BackupFault("damaged")

    monkeypatch.setattr(making.archive, "check", damaged)
    with pytest.raises(BackupFault, match="damaged"):
        backup.backup()
    assert list((settings.DATA_DIR / "backups").glob("*.zip")) == []
    assert list((settings.DATA_DIR / "backups").glob(".unfinished*")) == []


def test_a_book_with_a_fault_is_saved_and_known_for_one(book):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE lots_lot SET stage = 'struck' WHERE code = '7K3QFY'")
    made = backup.backup()
    (says,) = made.manifest.faults
    assert says == "7K3-QFY: Stage is struck in the book and finished by its records."
    assert backup.restore(made.path).manifest.faults == [says]


def test_a_backup_is_due_once_a_day(book, monkeypatch):
    assert backup.backup_if_due() is not None
    assert backup.backup_if_due() is None
    tomorrow = timezone.now() + timedelta(hours=25)
    monkeypatch.setattr(making.timezone, "now", lambda: tomorrow)
    assert backup.backup_if_due() is not None


def test_a_clock_once_set_ahead_does_not_stop_the_daily_backup(book, monkeypatch):
    year = timezone.now() + timedelta(days=365)
    with monkeypatch.context() as ahead:
        ahead.setattr(making.timezone, "now", lambda: year)
        wrong = backup.backup()
    assert backup.last_backup() is None
    made = backup.backup_if_due()
    assert backup.last_backup() == made
    assert [each.path for each in backup.backups()] == [made.path, wrong.path]


def test_a_daily_backup_that_fails_is_logged_and_tried_again(book, monkeypatch, caplog):
    def full(*_arguments: object, **_options: object):
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(making.archive, "write", full)
        making.look()
    assert "the disk is full" in caplog.text
    assert backup.last_backup() is None
    making.look()
    assert backup.last_backup() is not None


def test_backups_made_while_phones_write_are_sound(book, settings, template, tmp_path):
    """20 of 20: what was acknowledged before is in it, and its sums are right; some of them are
    put back, and hold what they say."""
    stop, acknowledged, faults = threading.Event(), [], []

    def phone(number: int) -> None:
        with own_book.using(book):
            lot = Lot.objects.get(code=("7K3QFY", "9XYZAH")[number % 2])
            by = get_user_model().objects.get(username="ana")
            place = Place.objects.get(name="A1")
            try:
                while not stop.wait(0.05):  # without a pause the luckless starve at SQLite's lock
                    ledger.record(lot, [Move(place=place, observed_at=timezone.now(), by=by)])
                    acknowledged.append(number)
            except Exception as fault:
                faults.append(fault)

    phones = [threading.Thread(target=phone, args=(number,)) for number in range(6)]
    other = settings.DATA_DIR / "strikebook_test_other"
    own_book.copy_template(template, other)
    for thread in phones:
        thread.start()
    try:
        for number in range(20):
            before = len(acknowledged) + 1
            made = backup.backup(tmp_path / f"{number}.zip")
            assert before <= made.manifest.rows[MOVES] <= len(acknowledged) + 1 + len(phones)
            assert made.manifest.faults == []
            if number % 5 == 4:  # each takes longer than what it looks at
                with own_book.using(other):
                    backup.restore(made.path)
                    assert audit().faults == []
                    assert Move.objects.count() == made.manifest.rows[MOVES]
    finally:
        stop.set()
        for thread in phones:
            thread.join()
    assert faults == []
    assert len(set(acknowledged)) == len(phones)


def run(*words: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command(*words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_the_commands_say_what_they_did(book, tmp_path):
    out, _err = run("backup")
    assert out.startswith(str(backup.last_backup().path))
    assert ": lots: 4, photos: 1, 0.0 MB; read back and sound.\nIts photos lie in " in out
    out, _err = run("restore", str(backup.last_backup().path))
    assert out.startswith("The book is as it was on ")
    assert "is kept in" in out


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["restore", "nowhere.zip"], 1, "There is no file nowhere.zip"),
        (["restore", __file__], 1, "its checksum doesn't fit"),
        (["backup", "--keep", "0"], 2, "--keep has to be 1 or more"),
        (["backup", "/proc/nowhere/book.zip"], 1, "No backup was made"),
    ],
)
def test_a_command_that_cannot_do_it_says_why(site, words, status, says):
    with pytest.raises(CommandError, match=says) as refusal:
        run(*words)
    assert refusal.value.returncode == status


def test_without_a_backup_there_is_no_last_one(site):
    assert backup.last_backup() is None
