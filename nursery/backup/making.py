"""Making backups, keeping the newest of them, and making one every day."""

import logging
import os
import tempfile
import threading
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection, connections
from django.utils import timezone

from nursery.backup import archive, postgresql, sqlite
from nursery.backup.archive import Backup, BackupFault, manifest_of

KEEP = 14
DAILY = timedelta(hours=24)
LOOK_EVERY = 15 * 60  # seconds between the looks whether a backup is due
NAMES = "strikebook-*.zip"
logger = logging.getLogger(__name__)


def folder() -> Path:
    """Where backups go if nobody says otherwise."""
    return settings.DATA_DIR / "backups"


def backup(target: Path | None = None, *, keep: int = KEEP) -> Backup:
    """Make a backup of the book as it stands, while it is in use, and read it back.

    It goes into the data folder's own folder, or another folder, under a dated name, and then
    only the `keep` newest there are kept; or into a file of the name given, which it replaces.
    Under its name it is whole: it gets it after it was checked and is on the disk. Raises
    BackupFault and OSError.
    """
    made_at = timezone.localtime()
    target = target or folder()
    dated = target.is_dir() or target == folder()
    where = target if dated else target.parent
    where.mkdir(mode=0o700, parents=True, exist_ok=True)
    database = sqlite if connection.vendor == "sqlite" else postgresql
    with tempfile.TemporaryDirectory(prefix=".unfinished-", dir=where) as scratch:
        copy, contents = database.save(Path(scratch))
        unfinished = Path(scratch, "backup.zip")
        archive.write(
            unfinished,
            copy,
            Path(settings.MEDIA_ROOT),
            made_at=made_at,
            rows=contents.rows,
            faults=contents.faults,
        )
        manifest = archive.check(unfinished)
        path = _free_name(where, made_at) if dated else target
        unfinished.replace(path)
    _sync(where)
    made = Backup(path, manifest)
    if dated:
        for old in backups(where)[max(keep, 1) :]:
            if old.path != path:
                old.path.unlink()
    return made


def _free_name(where: Path, made_at) -> Path:
    name = f"strikebook-{made_at:%Y-%m-%d-%H%M%S}"
    path, number = where / f"{name}.zip", 2
    while path.exists():
        path, number = where / f"{name}-{number}.zip", number + 1
    return path


def _sync(where: Path) -> None:
    """Have a folder's names on the disk."""
    handle = os.open(where, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def backups(where: Path | None = None) -> list[Backup]:
    """The good backups in a folder, the newest first. What can't be read is none of them."""
    found = []
    for path in (where or folder()).glob(NAMES):
        try:
            found.append(Backup(path, manifest_of(path)))
        except (BackupFault, OSError):
            continue
    return sorted(found, key=lambda each: (each.made_at, each.path.name), reverse=True)


def last_backup() -> Backup | None:
    """The newest good backup in the data folder."""
    return next(iter(backups()), None)


def backup_if_due() -> Backup | None:
    """Make a backup if the last one is a day old; returns it."""
    last = last_backup()
    if last and timezone.now() - last.made_at < DAILY:
        return None
    return backup()


def start_daily(stop: threading.Event) -> threading.Thread:
    """Make a backup each day until `stop` is set. One that is being made then is finished: the
    process waits for it."""

    def watch() -> None:
        look()
        while not stop.wait(LOOK_EVERY):
            look()

    thread = threading.Thread(target=watch, name="daily backup")
    thread.start()
    return thread


def look() -> None:
    """Make a backup if one is due. If that fails the server goes on all the same: the log says
    why, and the page of backups how old the last one is."""
    try:
        backup_if_due()
    except Exception:
        logger.exception("The daily backup failed")
    finally:
        connections.close_all()
