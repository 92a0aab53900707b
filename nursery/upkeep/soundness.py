"""Whether the book's own file is damaged: SQLite reads it through each day, and at the start if the
server was not stopped but broke off. The page of data and `/healthz` tell what was found."""

import json
import logging
import os
import threading
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection, connections
from django.utils import timezone

DAILY = timedelta(hours=24)
EVERY = 15 * 60  # seconds between looks whether it is due
MOST_FAULTS = 10  # told; a damaged file has thousands
FOUND, SERVED = "checked.json", "being-served"

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Check:
    """When the file was read through, whether after the server broke off, and what SQLite says is
    wrong with it: nothing if it is sound."""

    at: datetime
    broke_off: bool
    faults: list[str]

    @property
    def is_sound(self) -> bool:
        return not self.faults


def last() -> Check | None:
    """What was found last; None if nobody has looked yet."""
    try:
        kept = json.loads(_file(FOUND).read_text())
        return Check(**kept | {"at": datetime.fromisoformat(kept["at"])})
    except (OSError, ValueError, TypeError, KeyError):
        return None


def check(*, broke_off: bool = False) -> Check:
    """Read the file through (https://sqlite.org/pragma.html#pragma_quick_check) and keep what is
    found."""
    try:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA quick_check({MOST_FAULTS})")
            says = [line for (line,) in cursor.fetchall()]
    except DatabaseError as fault:  # too damaged to be read through
        says = [str(fault)]
    found = Check(timezone.now(), broke_off, [line for line in says if line != "ok"])
    for fault in found.faults:
        log.error("The book's file is damaged: %s", fault)
    unfinished = _file(f"{FOUND}.new")
    unfinished.write_text(json.dumps(asdict(found) | {"at": found.at.isoformat()}))
    unfinished.replace(_file(FOUND))
    return found


def keep(stop: threading.Event) -> None:
    """Check whenever it is due, until `stop` is set. A mark in the data folder tells the next
    start that this one has not come to its end."""
    broke_off = _file(SERVED).exists()
    _file(SERVED).write_text(str(os.getpid()))
    while True:
        try:
            before = last()
            if broke_off or before is None or timezone.now() - before.at >= DAILY:
                check(broke_off=broke_off)
                broke_off = False
        except Exception:
            log.exception("Whether the book's file is sound could not be looked at.")
        finally:
            connections.close_all()
        if stop.wait(EVERY):
            break
    _file(SERVED).unlink(missing_ok=True)


def served_by() -> str:
    """The number of the process that serves the book, or did so when it broke off."""
    try:
        return _file(SERVED).read_text().strip()
    except OSError:
        return ""


def _file(name: str) -> Path:
    return Path(settings.DATA_DIR, name)
