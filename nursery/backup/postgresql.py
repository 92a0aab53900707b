"""Dumping a PostgreSQL book while it is in use, reading a dump through, and putting one back.

The dump is taken of the very snapshot that is counted and audited, and its rows are counted
again in the file. Put back, it is one transaction.
"""

import os
import re
import shutil
import subprocess
from pathlib import Path

from django.db import connection
from django.utils.translation import gettext as _

from lots.snapshot import snapshot
from nursery.backup.archive import BackupFault
from nursery.backup.contents import (
    Contents,
    faults_of,
    forget_sign_ins,
    of_the_book,
    rows_of,
    sign_ins,
)

NAME = "book.sql"
START_OF_ROWS = re.compile(r"COPY public\.\"?([a-z_0-9]+)\"? \(.*\) FROM stdin;\n")
END_OF_ROWS = "\\.\n"
LAST_WORDS = "-- PostgreSQL database dump complete\n"
NOTHING_BEFORE = "DROP SCHEMA public CASCADE; CREATE SCHEMA public;"


def save(folder: Path, *, auditing: bool) -> tuple[Path, Contents]:
    """Dump the book into a folder and read the dump through. Raises BackupFault."""
    path = folder / NAME
    with snapshot():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_export_snapshot()")
            (name,) = cursor.fetchone()
        rows, faults = rows_of("default"), faults_of("default") if auditing else []
        _dump(path, f"--snapshot={name}")
    contents = check(path)
    if contents.rows != rows:
        raise BackupFault(_("The dump has other rows than the book."))
    return path, Contents(rows, faults, contents.migrations)


def check(path: Path) -> Contents:
    """Read a dump through. Raises BackupFault for one that breaks off."""
    rows: dict[str, int] = {}
    migrations: set[tuple[str, str]] = set()
    table, complete = None, False
    try:
        with path.open(encoding="utf-8", newline="\n") as dump:
            for line in dump:
                if table is None:
                    if match := START_OF_ROWS.fullmatch(line):
                        table = match[1]
                        rows[table] = 0
                    complete = complete or line == LAST_WORDS
                elif line == END_OF_ROWS:
                    table = None
                else:
                    rows[table] += 1
                    if table == "django_migrations":
                        _number, app, name, _applied = line.split("\t")
                        migrations.add((app, name))
    except ValueError as fault:
        raise BackupFault(_("The dump in the backup is damaged.")) from fault
    if table or not complete:
        raise BackupFault(_("The dump in the backup breaks off."))
    return Contents(of_the_book(rows), [], migrations)


def put_back(path: Path) -> None:
    """Put a checked dump in the place of the book. Whoever was signed in, here or in the dump, is
    no more."""
    connection.close()
    whole = ["--single-transaction", "--set=ON_ERROR_STOP=1", "--quiet", "--no-psqlrc"]
    _run("psql", [*whole, f"--command={NOTHING_BEFORE}", f"--file={path}"])
    forget_sign_ins(connection.alias)


def is_there() -> bool:
    """Whether there is a book."""
    return bool(connection.introspection.table_names())


def keep(folder: Path) -> None:
    """Dump the book as it stands into a folder."""
    _dump(folder / NAME)


def _dump(path: Path, *options: str) -> None:
    kept_out = [f"--exclude-table-data={table}" for table in sorted(sign_ins())]
    _run("pg_dump", ["--no-owner", "--no-privileges", *kept_out, *options, f"--file={path}"])


def _run(program: str, options: list[str]) -> None:
    """Run one of PostgreSQL's own programs on the book's database. Raises BackupFault."""
    command, secrets = connection.client.settings_to_cmd_args_env(connection.settings_dict, options)
    ran = subprocess.run(  # noqa: S603 - the words are ours and the settings'
        [_found(program), *command[1:]],
        env=os.environ | (secrets or {}),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    if ran.returncode:
        raise BackupFault(
            _("%(program)s failed: %(says)s") % {"program": program, "says": ran.stderr.strip()}
        )


def _found(program: str) -> str:
    """The newest of the machine's versions: an older one than the server's refuses to dump."""
    installed = sorted(
        Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), key=lambda path: int(path.parts[4])
    )
    path = str(installed[-1]) if installed else shutil.which(program)
    if path is None:
        raise BackupFault(
            _("%(program)s isn't there; install PostgreSQL's client programs.")
            % {"program": program}
        )
    return path
