"""Which backups are there, and which of them stay."""

import logging
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from itertools import islice
from pathlib import Path

from django.conf import settings
from filelock import FileLock

from nursery.backup import archive, store
from nursery.backup.archive import Backup, BackupFault

DAYS, WEEKS, MONTHS = 14, 8, 24
NAMES = "strikebook-*.zip"
LOCK = ".lock"
logger = logging.getLogger(__name__)


def folder() -> Path:
    """Where backups go if nobody says otherwise."""
    return settings.DATA_DIR / "backups"


@contextmanager
def alone(where: Path) -> Iterator[None]:
    """Wait until no other thread or process makes or clears away backups in a folder, and let
    none until this is done."""
    with FileLock(where / LOCK):
        yield


def backups(where: Path | None = None) -> list[Backup]:
    """The good backups in a folder, the newest first and last those dated ahead of the clock, of
    which nobody knows how old they are. What can't be read is none of them."""
    found = []
    for path in (where or folder()).glob(NAMES):
        try:
            found.append(Backup(path, archive.manifest_of(path)))
        except (BackupFault, OSError):
            continue
    return sorted(
        found, key=lambda each: (not each.is_ahead, each.made_at, each.path.name), reverse=True
    )


def last_backup() -> Backup | None:
    """The newest good backup in the data folder that is not dated ahead of the clock."""
    return next((each for each in backups() if not each.is_ahead), None)


def photo_sizes() -> list[int]:
    """The bytes of each photo that the backups in the data folder share."""
    return store.sizes(folder() / store.NAME)


def _week(moment: datetime) -> tuple[int, int]:
    return moment.isocalendar()[:2]


def _month(moment: datetime) -> tuple[int, int]:
    return moment.year, moment.month


def retained(moments: Iterable[datetime], days: int = DAYS) -> set[datetime]:
    """Of the moments of backups those that stay: all of the newest day, and the newest of each of
    the last `days` days, 8 ISO weeks and 24 months.

    Days, weeks and months count in which there was a backup, not those of the clock: neither a
    winter without one nor a clock set ahead makes a good backup old.
    """
    newest_first = sorted(moments, reverse=True)
    stay = {moment for moment in newest_first if moment.date() == newest_first[0].date()}
    periods: list[tuple[Callable[[datetime], object], int]] = [
        (datetime.date, days),
        (_week, WEEKS),
        (_month, MONTHS),
    ]
    for period, number in periods:
        newest: dict[object, datetime] = {}
        for moment in newest_first:
            newest.setdefault(period(moment), moment)
        stay.update(islice(newest.values(), number))
    return stay


def prune(where: Path, made: Path, number: int) -> None:
    """Remove backups that don't stay after `made`, in the data folder by the rule of `retained` and
    elsewhere all but the newest `number`. One dated ahead of the clock stays: the clock may be
    what is wrong. For the one who holds the lock of the data folder."""
    there = [each for each in backups(where) if not each.is_ahead]
    if where == folder():
        stay = retained((each.made_at for each in there), number)
        gone = [each.path for each in there if each.made_at not in stay]
    else:
        gone = [each.path for each in there[number:]]
    for path in gone:
        if path != made:
            path.unlink()
            logger.info("Cleared away the backup %s", path.name)


def clear_photos(where: Path) -> None:
    """Remove the photos that no backup in the folder names, whatever it is called. For the one
    who holds the lock."""
    named: set[str] = set()
    for path in where.glob("*.zip"):
        try:
            named.update(photo.sha256 for photo in archive.photos_beside(path))
        except (BackupFault, OSError) as fault:
            # It may be read another day, on another disk or by a newer version.
            logger.warning("No photo of the backups is cleared away: %s", fault)
            return
    if number := store.clear(where / store.NAME, named):
        logger.info("Cleared away photos that no backup names any more: %s", number)
