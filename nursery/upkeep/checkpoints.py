"""SQLite's journal (the WAL) brought into the book's file.

Before 3.51.3, a checkpoint that begins just as another connection starts the journal anew can
leave out a part of it for good (https://sqlite.org/wal.html#walresetbug). So no connection to a
book makes one by itself (`wal_autocheckpoint` is 0, see the settings): one is made here, by one
process, while it holds the write lock, and as long nobody can start the journal anew. SQLite still
makes one when the last connection is closed, and only if it has the file to itself.
"""

import logging
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

from django.db import connection

from nursery.sqlite import NEVER_BY_ITSELF, WAIT

EVERY = 5  # seconds between looks whether anything was written

log = logging.getLogger(__name__)


def keep(stop: threading.Event) -> None:
    """Make one whenever something was written, until `stop` is set."""
    book = Path(connection.settings_dict["NAME"])
    journal = book.with_name(f"{book.name}-wal")
    done = 0
    while not stop.wait(EVERY):
        try:
            written = journal.stat().st_mtime_ns if journal.exists() else 0
            if written != done:
                checkpoint(book)
                done = written
        except (OSError, sqlite3.Error):
            log.exception("SQLite's journal could not be brought into the book's file.")


def checkpoint(book: Path) -> tuple[int, int]:
    """How many pages the journal holds, and how many of them are in the file now: fewer while
    somebody still reads what the file held before. Raises sqlite3.Error."""
    with closing(_opened(book)) as writer, closing(_opened(book)) as keeper:
        writer.execute("BEGIN IMMEDIATE")
        try:
            _busy, pages, moved = keeper.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        finally:
            writer.execute("ROLLBACK")
    return pages, moved


def _opened(book: Path) -> sqlite3.Connection:
    opened = sqlite3.connect(book, timeout=WAIT, isolation_level=None)
    opened.execute(NEVER_BY_ITSELF)
    opened.execute("PRAGMA synchronous=FULL")
    return opened
