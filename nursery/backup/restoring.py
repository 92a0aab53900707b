"""Putting a backup back: everything is checked before anything is touched."""

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from django.utils.translation import gettext as _

from nursery import clock
from nursery.backup import archive, moving, postgresql, sqlite, store
from nursery.backup.archive import BackupFault, Manifest
from nursery.backup.contents import check_not_newer, forget_sign_ins, of_the_book, rows_of


@dataclass(frozen=True)
class Restored:
    """What was put back, the folder with the book that was there before (None: none was), and
    the paths of photos that were named in the backup and not found."""

    manifest: Manifest
    kept: Path | None
    lacking: list[str]


def restore(path: Path, *, lacking_photos: bool = False) -> Restored:
    """Put a backup in the place of the book and its photos, which are kept beside. Everybody has
    to sign in again. With `lacking_photos` a photo that is missing beside the backup is left out.

    Raises BackupFault, and then nothing was touched, unless the text says so.
    """
    manifest = archive.check(path)
    live = sqlite if connection.vendor == "sqlite" else postgresql
    if manifest.database == postgresql.NAME and live is sqlite:
        raise BackupFault(
            _(
                "This backup is of a book in PostgreSQL; set DATABASE_URL to restore it there. "
                "(exportcsv and importcsv move a book from PostgreSQL to SQLite.)"
            )
        )
    photos, there = archive.photos_beside(path), path.parent / store.NAME
    lacking = store.lacking(photos, there)
    if lacking and not lacking_photos:
        raise BackupFault(
            _(
                "%(says)s Put the folder that belongs there beside the backup; or restore it "
                "without them, with --lacking-photos."
            )
            % {"says": store.say_lacking(lacking, there)}
        )
    lost = set(lacking)
    found = [photo for photo in photos if photo not in lost]
    # Twice what it unpacks to: beside that it is put into the place of the book, which is kept.
    _check_room(2 * archive.unpacked_size(path) + sum(photo.size for photo in found))
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=settings.DATA_DIR) as scratch:
        unpacked = Path(scratch)
        archive.unpack(path, unpacked)
        store.take_out(found, there, unpacked / archive.PHOTOS)
        copy = unpacked / manifest.database
        contents = (postgresql if copy.name == postgresql.NAME else sqlite).check(copy)
        saved = of_the_book(manifest.rows)
        if contents.rows != saved:
            raise BackupFault(_("The backup has other rows than it says."))
        check_not_newer(contents.migrations)
        kept = _keep(live)
        if copy.name == live.NAME:
            live.put_back(copy)
            if rows_of("default") != saved:
                raise BackupFault(_("The book was put back, but has other rows than the backup."))
            call_command("migrate", interactive=False, verbosity=0)
        else:
            _move(copy)
        _put_photos(unpacked / archive.PHOTOS, kept)
    clock.follow()
    return Restored(manifest, kept, [photo.path for photo in lacking])


def _check_room(needed: int) -> None:
    """Raise BackupFault if the disk can't hold so many bytes beside the book."""
    free = shutil.disk_usage(settings.DATA_DIR).free
    if needed > free:
        raise BackupFault(
            _("The disk has %(free)s MB free, and this needs %(needed)s MB.")
            % {"free": free // 1_000_000, "needed": needed // 1_000_000}
        )


def _keep(live) -> Path | None:
    """Copy the book that is there into a folder of its own, where the photos will go too; None
    if there is neither."""
    photos = Path(settings.MEDIA_ROOT)
    has_book = live.is_there()
    if not (has_book or photos.exists()):
        return None
    folder = settings.DATA_DIR / "before-restore" / f"{timezone.localtime():%Y-%m-%d-%H%M%S-%f}"
    folder.mkdir(mode=0o700, parents=True)
    if has_book:
        live.keep(folder)
    return folder


def _move(copy: Path) -> None:
    """Put a SQLite copy into a PostgreSQL book."""
    call_command("migrate", interactive=False, verbosity=0)
    with sqlite.opened(copy) as alias:
        call_command("migrate", interactive=False, verbosity=0, database=alias)
        forget_sign_ins(alias)
        moving.move(alias)
        if rows_of(alias) != rows_of("default"):
            raise BackupFault(_("The book was put back, but has other rows than the backup."))


def _put_photos(unpacked: Path, kept: Path | None) -> None:
    photos = Path(settings.MEDIA_ROOT)
    if photos.exists():
        shutil.move(photos, kept / archive.PHOTOS)
    if unpacked.exists():
        shutil.move(unpacked, photos)
