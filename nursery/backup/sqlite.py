"""Copying a SQLite book while it is in use, reading a copy through, and putting one back.

All three go through SQLite's online backup (https://sqlite.org/backup.html). Done in one step
it reads one snapshot: no writer is locked out, and none can make it start anew. Put back, it is
one transaction: whoever has the book open sees the old one or the new one, and a crash in
between leaves the old one.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.db import DatabaseError, connection, connections
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.utils.translation import gettext as _

from lots.models import RECORDS
from nursery.backup.archive import BackupFault
from nursery.backup.contents import Contents, faults_of, forget_sign_ins, rows_of
from nursery.sqlite import NEVER_BY_ITSELF

NAME = "book.sqlite3"
WHOLE = "whole.sqlite3"  # a copy with the sign-ins still in it
COPY = "copy"  # the alias of an opened copy
IN_ONE_STEP = -1
# The files that SQLite keeps beside a database in WAL mode (https://sqlite.org/tempfiles.html).
BESIDE = ("-wal", "-shm", "-journal")


def save(folder: Path, *, auditing: bool) -> tuple[Path, Contents]:
    """Copy the book into a folder and read the copy through. Raises BackupFault."""
    path, whole = folder / NAME, folder / WHOLE
    before = rows_of("default")
    connection.ensure_connection()
    with closing(sqlite3.connect(whole)) as copy:
        connection.connection.backup(copy, pages=IN_ONE_STEP)
    _without_sign_ins(whole, path)
    contents = check(path, auditing=auditing)
    # The book may have grown meanwhile; a record is never taken out of it.
    for table in before.keys() & {model._meta.db_table for model in RECORDS.values()}:
        if contents.rows[table] < before[table]:
            raise BackupFault(_("The copy has fewer records than the book."))
    return path, contents


def check(path: Path, *, auditing: bool = False) -> Contents:
    """Read a copy through. Raises BackupFault for one that is damaged."""
    try:
        with opened(path), connections[COPY].cursor() as cursor:
            # integrity_check doesn't look for rows that refer to nothing: foreign_key_check does.
            cursor.execute("PRAGMA integrity_check(1)")
            (verdict,) = cursor.fetchone()
            cursor.execute("PRAGMA foreign_key_check")
            if verdict != "ok" or cursor.fetchone():
                raise BackupFault(
                    _("The database in the backup is damaged (%(verdict)s).") % {"verdict": verdict}
                )
            rows = rows_of(COPY)
            migrations = set()
            if "django_migrations" in rows:
                cursor.execute("SELECT app, name FROM django_migrations")
                migrations = set(cursor.fetchall())
            return Contents(rows, faults_of(COPY) if auditing else [], migrations)
    except sqlite3.DatabaseError as fault:
        raise _damaged(fault) from fault
    except Exception as fault:
        if isinstance(fault.__cause__, sqlite3.DatabaseError):  # Django's wrapping of the same
            raise _damaged(fault) from fault
        raise


def _damaged(fault: Exception) -> BackupFault:
    return BackupFault(
        _("The database in the backup is damaged (%(verdict)s).") % {"verdict": fault}
    )


@contextmanager
def opened(path: Path) -> Iterator[str]:
    """A SQLite file as a database of Django's, under the alias COPY, in this thread."""
    settings = connection.settings_dict | {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": {},  # it stays as it is: no journal beside it
        "ATOMIC_REQUESTS": False,
    }
    connections[COPY] = DatabaseWrapper(settings, COPY)
    try:
        yield COPY
    finally:
        connections[COPY].close()
        del connections[COPY]


def _without_sign_ins(whole: Path, path: Path) -> None:
    """Turn a whole copy into one with no trace of the sign-ins, not even in its free pages. It is
    one file, with nothing beside it."""
    try:
        with closing(sqlite3.connect(whole)) as copy:
            copy.execute("PRAGMA journal_mode=DELETE")
        with opened(whole) as alias, connections[alias].cursor() as cursor:
            forget_sign_ins(alias)
            cursor.execute("VACUUM INTO %s", [str(path)])
    finally:
        whole.unlink()


def put_back(path: Path) -> None:
    """Write a checked copy over the book. Whoever was signed in, here or in the copy, is no
    more."""
    connection.close()
    with opened(path) as alias:
        forget_sign_ins(alias)
    _copy(path, _live())


def is_there() -> bool:
    """Whether there is a book, or what is left of one that can't be read."""
    if not _live().exists():
        return False
    try:
        with closing(sqlite3.connect(_live())) as live:
            return live.execute("SELECT 1 FROM sqlite_master").fetchone() is not None
    except sqlite3.DatabaseError:
        return True


def keep(folder: Path) -> None:
    """Copy the book as it stands into a folder; one that can't be read is moved there."""
    connection.close()
    try:
        _copy(_live(), folder / WHOLE)
        _without_sign_ins(folder / WHOLE, folder / NAME)
    except (sqlite3.DatabaseError, DatabaseError):  # which may be why it is being replaced
        for ending in ("", *BESIDE):
            file = _live().with_name(_live().name + ending)
            if file.exists():
                shutil.move(file, folder / f"{NAME}{ending}")


def _live() -> Path:
    return Path(connection.settings_dict["NAME"])


def _copy(path: Path, to: Path) -> None:
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(to)) as target:
        target.execute(NEVER_BY_ITSELF)
        source.backup(target, pages=IN_ONE_STEP)
