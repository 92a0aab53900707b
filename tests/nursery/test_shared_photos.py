"""Daily backups keep photos once, beside them: what is told of a missing one, and that each of
them restores alone."""

import shutil
import threading
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from lots.ledger.audit import audit
from lots.models import Lot, Place
from nursery import backup
from nursery.backup import BackupFault, archive, making, store
from tests.nursery import own_book
from tests.nursery.hand_book import add_photo, exported, photos

BOOK = Path(__file__).parent / "frozen" / "book-1.zip"
pytestmark = pytest.mark.django_db  # only so that there is a database to copy


@pytest.fixture
def backups(settings):
    return settings.DATA_DIR / "backups"


def stored(settings, name: str):
    """The file of a photo in the store."""
    (photo,) = [
        photo
        for photo in archive.photos_beside(backup.last_backup().path)
        if photo.path.endswith(f"{name}.jpg")
    ]
    return store.place(settings.DATA_DIR / "backups/photos", photo.sha256)


def content(settings) -> dict[str, bytes]:
    return {
        path.relative_to(settings.MEDIA_ROOT).as_posix(): path.read_bytes()
        for path in settings.MEDIA_ROOT.rglob("*.jpg")
    }


def test_each_that_stays_restores_alone_bit_for_bit(book, settings, backups, monkeypatch, tmp_path):
    """On another disk, with nothing there but one file and the photos, after others are gone."""
    was = {}
    days = [(2025, 3, 10), (2025, 4, 14), (2025, 5, 12), (2025, 5, 13)]
    for number, day in enumerate(days):
        Place.objects.create(name=f"new {number}")
        add_photo(settings, f"photo {number}")
        if number:
            (settings.MEDIA_ROOT / f"2026/03/photo {number - 1}.jpg").unlink()
        moment = datetime(*day, 12, tzinfo=UTC)
        with monkeypatch.context() as clock:
            clock.setattr(making.timezone, "now", lambda moment=moment: moment)
            made = backup.backup(keep=1)
        was[made.path.name] = exported(tmp_path / f"before {number}"), content(settings)
    there = [each.path.name for each in backup.backups()]
    assert there == [name for name in reversed(was) if "05-12" not in name]
    assert len(backup.photo_sizes()) == 4  # the leaf, and that of each that stays
    for number, name in enumerate(there):
        alone = tmp_path / f"disk {number}"
        shutil.copytree(backups / "photos", alone / "photos")
        shutil.copy(backups / name, alone)
        backup.restore(alone / name)
        assert (exported(tmp_path / f"after {number}"), content(settings)) == was[name]


@pytest.mark.parametrize("way", ["missing", "damaged", "no store"])
def test_a_photo_that_is_not_there_is_told_and_nothing_touched(book, settings, backups, way):
    add_photo(settings, "second")
    made = backup.backup()
    if way == "missing":
        stored(settings, "leaf").unlink()
    elif way == "damaged":
        stored(settings, "leaf").write_bytes(b"laef")
    else:
        shutil.rmtree(backups / "photos")
    add_photo(settings, "later")
    with pytest.raises(BackupFault) as told:
        backup.restore(made.path)
    says = str(told.value)
    first = "2 photos" if way == "no store" else "The photo 2026/03/leaf.jpg"
    assert says.startswith(f"{first} of this backup ")
    assert f"missing or damaged in {backups / 'photos'}" in says
    assert "2026/03/leaf.jpg" in says
    assert photos(settings) == {"leaf", "second", "later"}
    assert not (settings.DATA_DIR / "before-restore").exists()


def test_the_book_comes_back_without_a_photo_that_is_lost(book, settings):
    add_photo(settings, "second")
    path = str(backup.backup().path)
    stored(settings, "leaf").unlink()
    with pytest.raises(CommandError, match="--lacking-photos"):
        call_command("restore", path)
    out, err = StringIO(), StringIO()
    call_command("restore", path, "--lacking-photos", stdout=out, stderr=err)
    assert "Lots: 4, photos: 1." in out.getvalue()
    assert "missing: 2026/03/leaf.jpg" in err.getvalue()
    assert photos(settings) == {"second"}


def test_the_next_backup_mends_a_damaged_photo(book, settings):
    made = backup.backup()
    stored(settings, "leaf").write_bytes(b"laef")
    backup.backup()
    assert stored(settings, "leaf").read_bytes() == b"leaf"
    backup.restore(made.path)


def test_a_photo_that_cannot_be_read_back_makes_no_backup(book, settings, monkeypatch):
    def put(*_arguments):
        return [store.StoredPhoto("2026/03/leaf.jpg", 4, "0" * 64)]

    monkeypatch.setattr(store, "put", put)
    with pytest.raises(BackupFault, match=r"2026/03/leaf\.jpg .* is missing or damaged"):
        backup.backup()
    assert backup.backups() == []


def test_a_photo_is_never_written_outside_the_folder(book, settings, monkeypatch):
    put = store.put
    monkeypatch.setattr(
        store,
        "put",
        lambda *given: [
            store.StoredPhoto("../../out.jpg", photo.size, photo.sha256) for photo in put(*given)
        ],
    )
    with pytest.raises(BackupFault, match="other files than a backup"):
        backup.restore(backup.backup().path)


def test_one_taken_away_is_whole(book, settings, backups, tmp_path):
    made = backup.backup(tmp_path / "book.zip")
    assert not backups.exists()
    shutil.rmtree(settings.MEDIA_ROOT)
    backup.restore(made.path)
    assert content(settings) == {"2026/03/leaf.jpg": b"leaf"}


def test_none_is_cleared_away_while_another_is_made(book, settings, monkeypatch):
    """One waits between its photos and its file, when nothing names its new photo yet."""
    in_between, go_on, second = threading.Event(), threading.Event(), threading.Event()
    write, faults = archive.write, []

    def slow(*arguments, **options):
        if not in_between.is_set():
            in_between.set()
            assert go_on.wait(30)
        return write(*arguments, **options)

    monkeypatch.setattr(archive, "write", slow)

    def make(done=None):
        with own_book.using(book):
            try:
                backup.backup()
            except Exception as fault:
                faults.append(fault)
            if done:
                done.set()

    first = threading.Thread(target=make)
    first.start()
    assert in_between.wait(30)
    photo = settings.MEDIA_ROOT / "2026/03/leaf.jpg"
    photo.rename(settings.DATA_DIR / "gone")
    other = threading.Thread(target=make, args=[second])
    other.start()
    early = second.wait(1)
    go_on.set()
    first.join()
    other.join()
    assert faults == []
    assert not early
    made = backup.backups()
    assert sorted(each.manifest.photos for each in made) == [0, 1]
    for each in made:
        backup.restore(each.path)


def test_a_backup_of_the_first_format_is_put_back(site, settings):
    assert archive.manifest_of(BOOK).photos == 1
    backup.restore(BOOK)
    assert Lot.objects.count() == 4
    assert audit().faults == []
    assert content(settings) == {"2026/03/leaf.jpg": b"leaf"}
