"""Backups read back and put back, moved between databases, and what is refused."""

import random
import zipfile
from types import SimpleNamespace

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.utils import timezone

from lots import ledger
from lots.ledger.audit import audit
from lots.models import Lot, Move, Photo, Place, Variety
from nursery import backup
from nursery.backup import BackupFault, archive, contents, postgresql, restoring
from nursery.models import SignIn, WrongPasswords
from tests.lots import books
from tests.nursery import own_book
from tests.nursery.hand_book import add_photo, exported, photos

pytestmark = pytest.mark.django_db  # only so that there is a database to copy


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


def test_what_unpacks_to_more_than_there_is_room_for_is_refused_before_it_does(
    book, settings, monkeypatch
):
    """A backup says itself how large it becomes, and a zip of a megabyte may become a thousand."""
    made = backup.backup()
    unpacked = archive.unpacked_size(made.path)
    assert unpacked > 3 * made.path.stat().st_size
    free = SimpleNamespace(free=2 * unpacked - 1)
    monkeypatch.setattr(restoring.shutil, "disk_usage", lambda _path: free)
    monkeypatch.setattr(archive, "unpack", None)  # it isn't asked
    with pytest.raises(BackupFault, match=r"MB free, and this needs"):
        backup.restore(made.path)
    monkeypatch.setattr(archive, "MOST_NAMED", 100)
    with pytest.raises(BackupFault, match=r"damaged, or no backup"):
        archive.manifest_of(made.path)


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


def signed_in(client) -> str:
    """Sign Ana in; the key of her session."""
    client.force_login(get_user_model().objects.get(username="ana"))
    assert client.get("/").status_code == 200
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def is_signed_out(client) -> bool:
    return client.get("/").headers.get("Location", "").startswith("/sign-in/")


def test_a_backup_holds_no_sign_ins_and_a_restore_ends_all(book, client, tmp_path):
    phone, later = client, Client()
    keys = [signed_in(phone)]
    WrongPasswords.objects.create(username="a thief", address="192.0.2.7")
    with zipfile.ZipFile(backup.backup(tmp_path / "book.zip").path) as saved:
        content = b"".join(map(saved.read, saved.namelist()))
    assert b"9XYZAH" in content
    assert b"a thief" not in content
    keys.append(signed_in(later))
    kept = backup.restore(tmp_path / "book.zip").kept
    content += b"".join(path.read_bytes() for path in kept.iterdir() if path.is_file())
    assert not [key for key in keys if key.encode() in content]
    assert is_signed_out(phone)
    assert is_signed_out(later)
    assert signed_in(phone)


def test_a_backup_of_before_which_holds_sign_ins_ends_them_too(book, client, monkeypatch, tmp_path):
    signed_in(client)
    with monkeypatch.context() as before:
        for part in (contents, postgresql):
            before.setattr(part, "sign_ins", frozenset)
        made = backup.backup(tmp_path / "book.zip")
    assert made.manifest.rows[SignIn._meta.db_table] == 1
    backup.restore(made.path)
    assert is_signed_out(client)


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


if connection.vendor == "postgresql":

    def test_a_backup_from_sqlite_moves_into_postgresql_with_nothing_lost(site, settings, tmp_path):
        with own_book.using_url(f"sqlite:///{tmp_path / 'book.sqlite3'}"):
            call_command("migrate", verbosity=0)
            books.bring_in(books.write(tmp_path / "hand"))
            add_photo(settings, "leaf")
            move = Move.objects.first()
            photo = Photo.objects.create(
                lot=move.lot,
                record=move.uuid,
                image="2026/03/leaf.jpg",
                taken_at=move.observed_at,
                by=move.by,
            )
            # A circle of references: variety, picture, lot, variety.
            Variety.objects.filter(pk=photo.lot.variety_id).update(face=photo)
            made = backup.backup(tmp_path / "book.zip")
            before = exported(tmp_path / "before")
            dates = list(Move.objects.values_list("recorded_at", "by__password"))
        backup.restore(made.path)
        assert exported(tmp_path / "after") == before
        assert list(Move.objects.values_list("recorded_at", "by__password")) == dates
        assert audit().faults == []
        assert photos(settings) == {"leaf"}
        assert Variety.objects.get(face__isnull=False).face == photo
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
