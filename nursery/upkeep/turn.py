"""Which of the processes that serve a book does its daily work: forecasts and plan, backups, and
what SQLite needs.

A book in SQLite is served by one process alone. One in PostgreSQL may be served by several, on
several machines: one of them has the turn, a lock of the database that ends with its connection,
and the next one takes it then.
"""

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management.base import CommandError
from django.db import Error, connection
from django.utils.translation import gettext as _
from filelock import FileLock, Timeout

from lots import outlook
from lots.supply import plan
from nursery import backup
from nursery.upkeep import checkpoints, soundness

type Work = Callable[[threading.Event], None]

LOCK = "serving.lock"
TURN = 7_100_403  # the number of PostgreSQL's advisory lock: any, as long as it is always the same
EVERY = 15  # seconds between looks whether the turn has come, or is lost

ANYWHERE: list[Work] = [outlook.refit_in_background, plan.renew_in_background, backup.daily]
# A fit or a plan half made is made again; these have something to finish.
FINISHED = (backup.daily, soundness.keep, checkpoints.keep)

log = logging.getLogger(__name__)


@contextmanager
def served_once() -> Iterator[None]:
    """Nobody else serves this data folder meanwhile. PostgreSQL sees to it itself that several may.
    Raises CommandError if it is served already."""
    if connection.vendor != "sqlite":
        yield
        return
    try:
        with FileLock(settings.DATA_DIR / LOCK, timeout=0, thread_local=False):
            yield
    except Timeout as fault:
        says = _(
            "The book in %(folder)s is being served already (by process %(number)s). Stop that "
            "one first; or set NURSERY_DATA_DIR to serve another book."
        )
        words = {"folder": settings.DATA_DIR, "number": soundness.served_by() or "?"}
        raise CommandError(says % words) from fault


def keep_up(closing: threading.Event) -> None:
    """Do the daily work until `closing` is set, for a thread of the server; a backup that is being
    made then is finished first."""
    if connection.vendor == "sqlite":
        works = _begin(closing, [*ANYWHERE, checkpoints.keep, soundness.keep])
        closing.wait()
        _finish(works)
        return
    while not closing.is_set():
        try:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_try_advisory_lock(%s)", [TURN])
                if cursor.fetchone()[0]:
                    _while_it_lasts(closing)
        except Error:
            log.exception("Whose turn the daily work is could not be asked; asked again soon.")
        finally:
            connection.close()
        closing.wait(EVERY)


def _while_it_lasts(closing: threading.Event) -> None:
    over = threading.Event()
    works = _begin(over, ANYWHERE)
    try:
        while not closing.wait(EVERY):
            with connection.cursor() as cursor:  # raises Error once the connection is lost
                cursor.execute("SELECT 1")
    finally:
        over.set()
        _finish(works)


def _begin(over: threading.Event, works: list[Work]) -> list[threading.Thread]:
    begun = [
        threading.Thread(target=work, args=[over], daemon=work not in FINISHED) for work in works
    ]
    for thread in begun:
        thread.start()
    return begun


def _finish(works: list[threading.Thread]) -> None:
    for thread in works:
        if not thread.daemon:
            thread.join()
