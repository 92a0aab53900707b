"""Backups: made while the book is written to, read back, put back; and what is refused."""

import random
import threading
import zipfile
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from lots import csvbook, ledger
from lots.audit import audit
from lots.models import Lot, Move, Place
from nursery import backup
from nursery.backup import BackupFault, archive, making
from tests.lots import books
from tests.nursery import own_book

pytestmark = pytest.mark.django_db  # only so that there is a database to copy

MOVES = Move._meta.db_table


@pytest.fixture
def book(site, settings, tmp_path) -> Path:
    """The hand-made book, with a photo."""
    books.bring_in(books.write(tmp_path / "hand"))
    add_photo(settings, "leaf")
    return site


def add_photo(settings, name: str) -> None:
    photo = Path(settings.MEDIA_ROOT, "2026/03", f"{name}.jpg")
    photo.parent.mkdir(parents=True, exist_ok=True)
    photo.write_bytes(name.encode())


def photos(settings) -> set[str]:
    return {path.stem for path in Path(settings.MEDIA_ROOT).rglob("*.jpg")}


def exported(folder: Path) -> dict[str, bytes]:
    csvbook.export(folder)
    return books.read(folder)


def test_a_backup_brings_everything_back(book, settings, tmp_path):
    before = exported(tmp_path / "before")
    made = backup.backup()
    Place.objects.create(name="later")
    add_photo(settings, "later")
    done = backup.restore(made.path)
    assert exported(tmp_path / "after") == before
    assert photos(settings) == {"leaf"}
    assert audit().faults == []
    assert done.manifest.rows["lots_lot"] == 4


def test_the_book_that_was_there_is_kept_beside(book, settings):
    made = backup.backup()
    Place.objects.create(name="later")
    add_photo(settings, "later")
    kept = backup.restore(made.path).kept
    assert kept.parent == settings.DATA_DIR / "before-restore"
    assert {path.name for path in kept.iterdir()} == {made.manifest.database, "photos"}
    assert (kept / "photos/2026/03/later.jpg").read_bytes() == b"later"
    assert b"later" in (kept / made.manifest.database).read_bytes()


def test_a_backup_goes_into_an_empty_book_and_into_none(book, settings, template, tmp_path):
    made = backup.backup(tmp_path / "book.zip")
    before = exported(tmp_path / "before")
    other = settings.DATA_DIR / "strikebook_test_other"
    own_book.copy_template(template, other)
    with own_book.using(other):
        assert not Lot.objects.exists()
        backup.restore(made.path)
        assert exported(tmp_path / "after") == before


def test_the_last_is_kept_and_so_many_before_it(book, settings):
    made = [backup.backup(keep=3).path for _time in range(5)]
    (settings.DATA_DIR / "backups/strikebook-2020-01-01-000000.zip").write_bytes(b"damaged")
    kept = [each.path for each in backup.backups()]
    assert kept == [made[4], made[3], made[2]]
    assert backup.last_backup().path == made[4]
    backup.backup(keep=1)
    assert len(backup.backups()) == 1


def test_a_backup_of_a_name_is_nobodys_to_remove(book, tmp_path):
    first = backup.backup(tmp_path / "first.zip").path
    backup.backup(tmp_path / "second.zip", keep=1)
    assert first.exists()
    assert backup.last_backup() is None


def test_another_folder_gets_dated_backups_too(book, tmp_path):
    made = [backup.backup(tmp_path, keep=1).path for _time in range(2)]
    assert list(tmp_path.glob("strikebook-*.zip")) == made[1:]


def test_only_the_nursery_may_read_a_backup(book):
    made = backup.backup()
    assert made.path.stat().st_mode & 0o077 == 0
    assert made.path.parent.stat().st_mode & 0o077 == 0


def test_a_backup_that_cannot_be_read_back_leaves_nothing(book, settings, monkeypatch):
    def damaged(_path):
        raise BackupFault("damaged")

    monkeypatch.setattr(making.archive, "check", damaged)
    with pytest.raises(BackupFault, match="damaged"):
        backup.backup()
    assert list((settings.DATA_DIR / "backups").iterdir()) == []


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
    """20 of 20: what was acknowledged before is in it, and its sums are right."""
    stop, acknowledged, faults = threading.Event(), [], []

    def phone(number: int) -> None:
        with own_book.using(book):
            lot = Lot.objects.get(code=("7K3QFY", "9XYZAH")[number % 2])
            by = get_user_model().objects.get(username="ana")
            place = Place.objects.get(name="A1")
            try:
                while not stop.is_set():
                    ledger.record(lot, [Move(place=place, observed_at=timezone.now(), by=by)])
                    acknowledged.append(number)
            except Exception as fault:
                faults.append(fault)

    phones = [threading.Thread(target=phone, args=(number,)) for number in range(20)]
    other = settings.DATA_DIR / "strikebook_test_other"
    own_book.copy_template(template, other)
    for thread in phones:
        thread.start()
    try:
        for number in range(20):
            before = len(acknowledged) + 1
            made = backup.backup(tmp_path / f"{number}.zip")
            assert before <= made.manifest.rows[MOVES] <= len(acknowledged) + 1 + len(phones)
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


def test_a_damaged_or_cut_backup_is_refused_and_nothing_touched(book, settings, tmp_path):
    """20 of 20: one bit another, or cut off somewhere."""
    good = backup.backup(tmp_path / "good.zip").path.read_bytes()
    before = exported(tmp_path / "before")
    for number in range(20):
        chance = random.Random(number)
        content = bytearray(good)
        place = chance.randrange(len(content))
        if number % 2:
            content[place] ^= 1 << chance.randrange(8)
        else:
            del content[place:]
        (tmp_path / "bad.zip").write_bytes(content)
        with pytest.raises(BackupFault, match="damaged or cut off"):
            backup.restore(tmp_path / "bad.zip")
    assert exported(tmp_path / "after") == before
    assert photos(settings) == {"leaf"}
    assert not (settings.DATA_DIR / "before-restore").exists()


def test_a_backup_of_a_newer_program_is_refused(book, tmp_path):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('lots', '9999_of_the_future', '2026-01-01 00:00:00+00:00')"
        )
    made = backup.backup(tmp_path / "book.zip")
    with pytest.raises(BackupFault, match=r"newer version .* lots\.9999_of_the_future"):
        backup.restore(made.path)


def test_a_damaged_database_in_a_backup_is_refused(book, tmp_path):
    database = tmp_path / backup.backup(tmp_path / "good.zip").manifest.database
    with zipfile.ZipFile(tmp_path / "good.zip") as good:
        content = bytearray(good.read(database.name))
    content[len(content) // 3 :] = content[: len(content) // 3]
    database.write_bytes(content)
    written = {"made_at": timezone.now(), "rows": {}, "faults": []}
    archive.write(tmp_path / "bad.zip", database, tmp_path / "none", **written)
    with pytest.raises(BackupFault, match=r"in the backup (is damaged|breaks off)"):
        backup.restore(tmp_path / "bad.zip")


def run(*words: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command(*words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_the_commands_say_what_they_did(book, tmp_path):
    out, _err = run("backup")
    assert out.startswith(str(backup.last_backup().path))
    assert out.endswith(": 4 lots, 1 photos, 0.0 MB; read back and sound.\n")
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


if connection.vendor == "postgresql":

    def test_a_backup_from_sqlite_moves_into_postgresql_with_nothing_lost(site, settings, tmp_path):
        with own_book.using_sqlite(tmp_path / "book.sqlite3"):
            call_command("migrate", verbosity=0)
            books.bring_in(books.write(tmp_path / "hand"))
            add_photo(settings, "leaf")
            made = backup.backup(tmp_path / "book.zip")
            before = exported(tmp_path / "before")
            dates = list(Move.objects.values_list("recorded_at", "by__password"))
        backup.restore(made.path)
        assert exported(tmp_path / "after") == before
        assert list(Move.objects.values_list("recorded_at", "by__password")) == dates
        assert audit().faults == []
        assert photos(settings) == {"leaf"}
        # New rows get numbers after those that came.
        lot, by = Lot.objects.get(code="7K3QFY"), get_user_model().objects.get(username="ana")
        place = Place.objects.create(name="new")
        ledger.record(lot, [Move(place=place, observed_at=timezone.now(), by=by)])

else:

    def test_a_backup_from_postgresql_is_refused_by_sqlite(site, tmp_path):
        dump = tmp_path / "book.sql"
        dump.write_text("-- PostgreSQL database dump complete\n")
        written = {"made_at": timezone.now(), "rows": {}, "faults": []}
        archive.write(tmp_path / "book.zip", dump, tmp_path / "none", **written)
        with pytest.raises(BackupFault, match="set DATABASE_URL to restore it there"):
            backup.restore(tmp_path / "book.zip")

    def test_a_book_that_cannot_be_read_is_moved_aside(book, tmp_path):
        made = backup.backup(tmp_path / "book.zip")
        before = exported(tmp_path / "before")
        connection.close()
        book.write_bytes(b"no database" * 1000)
        kept = backup.restore(made.path).kept
        assert (kept / "book.sqlite3").read_bytes().startswith(b"no database")
        assert exported(tmp_path / "after") == before
