"""Making backups, and making one every day."""

import logging
import tempfile
import threading
from contextlib import nullcontext
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection, connections
from django.utils import timezone

from nursery.backup import archive, keeping, postgresql, sqlite, store
from nursery.backup.archive import Backup, BackupFault
from nursery.backup.keeping import last_backup

DAILY = timedelta(hours=24)
LOOK_EVERY = 15 * 60  # seconds between the looks whether a backup is due
logger = logging.getLogger(__name__)


def backup(
    target: Path | None = None, *, keep: int = keeping.DAYS, auditing: bool = True
) -> Backup:
    """Make a backup of the book as it stands, while it is in use, and read it back. One of an older
    form than the program's can't be audited.

    It goes into the data folder's own folder under a dated name, its photos into the store beside
    it, and then those stay that `keeping` tells, of the last `keep` days and longer. Or it goes
    with its photos into another folder, under a dated name, and the `keep` newest there stay; or
    into a file of the name given, which it replaces. Under its name it is whole: it gets it after
    it was checked and is on the disk. Raises BackupFault and OSError.
    """
    own = keeping.folder()
    if target is None or (target.is_dir() and target.resolve() == own.resolve()):
        target = own
    dated = target.is_dir() or target == own
    where = target if dated else target.parent
    where.mkdir(mode=0o700, parents=True, exist_ok=True)
    with keeping.alone(where) if where == own else nullcontext():
        made = _made(where, None if dated else target, target == own, auditing)
        if dated:
            try:
                keeping.prune(where, made.path, max(keep, 1))
                if where == own:
                    keeping.clear_photos(where)
            except OSError:
                logger.exception("The backup was made, but old ones could not be cleared away")
    return made


def _made(where: Path, name: Path | None, beside: bool, auditing: bool) -> Backup:
    """Make a backup in a folder and read it back, under its name or a dated one."""
    made_at = timezone.localtime()
    database = sqlite if connection.vendor == "sqlite" else postgresql
    photos, kept = Path(settings.MEDIA_ROOT), where / store.NAME
    with tempfile.TemporaryDirectory(prefix=".unfinished-", dir=where) as scratch:
        copy, contents = database.save(Path(scratch), auditing=auditing)
        stored = store.put(photos, kept, Path(scratch)) if beside else []
        unfinished = Path(scratch, "backup.zip")
        archive.write(
            unfinished,
            copy,
            stored if beside else photos,
            made_at=made_at,
            rows=contents.rows,
            faults=contents.faults,
        )
        manifest = archive.check(unfinished)
        if lacking := store.lacking(stored, kept):
            raise BackupFault(store.say_lacking(lacking, kept))
        path = name or _free_name(where, made_at)
        unfinished.replace(path)
    store.sync(where)
    return Backup(path, manifest)


def _free_name(where: Path, made_at: datetime) -> Path:
    name = f"strikebook-{made_at:%Y-%m-%d-%H%M%S}"
    path, number = where / f"{name}.zip", 2
    while path.exists():
        path, number = where / f"{name}-{number}.zip", number + 1
    return path


def backup_if_due() -> Backup | None:
    """Make a backup if the last one is a day old; returns it."""
    last = last_backup()
    if last and timezone.now() - last.made_at < DAILY:
        return None
    return backup()


def daily(stop: threading.Event) -> None:
    """Make a backup each day until `stop` is set."""
    look()
    while not stop.wait(LOOK_EVERY):
        look()


def look() -> None:
    """Make a backup if one is due. If that fails the server goes on all the same: the log says
    why, and the page of backups how old the last one is."""
    try:
        backup_if_due()
    except Exception:
        logger.exception("The daily backup failed")
    finally:
        connections.close_all()
