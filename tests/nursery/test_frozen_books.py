"""A book of each earlier state of the migrations that a book was ever in comes to today's, with all
its lots and records, and its sums hold.

Each is what the demo of that time wrote, its sign-ins taken out, as a dump of SQLite. A book of the
state before is added here whenever migrations are: see the hand-book.
"""

import gzip
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connections

from lots.ledger.audit import audit
from lots.models import RECORDS
from nursery.backup import contents
from nursery.backup.sqlite import opened

FROZEN = Path(__file__).parent / "frozen/books"
BOOKS = sorted(path.name.removesuffix(".sql.gz") for path in FROZEN.iterdir())
SUMS = ["stuck_units", "cells", "cells_lost", "units_potted", "pots_made", "pots_growing"]
SUMS += ["pots_lost", "pots_finished", "pots_left"]
TABLES = ["lots_lot", "lots_variety", "lots_stockplant", "lots_cut", "nursery_person"]
TABLES += [model._meta.db_table for model in RECORDS.values()]

pytestmark = pytest.mark.django_db  # only so that Django is at home with the database


def thawed(name: str, path: Path) -> Path:
    with closing(sqlite3.connect(path)) as book:
        book.executescript(gzip.decompress((FROZEN / f"{name}.sql.gz").read_bytes()).decode())
    return path


def said(alias: str) -> dict:
    """The counts of every lot by its code, how many rows the tables have, and every record."""
    with connections[alias].cursor() as cursor:
        cursor.execute(f"SELECT code, {', '.join(SUMS)} FROM lots_lot ORDER BY code")  # noqa: S608
        lots = cursor.fetchall()
        rows = {}
        for table in TABLES:
            cursor.execute(f"SELECT COUNT(*) FROM {table}")  # noqa: S608
            rows[table] = cursor.fetchone()[0]
        uuids = set()
        for model in RECORDS.values():
            cursor.execute(f"SELECT uuid FROM {model._meta.db_table}")  # noqa: S608
            uuids.update(uuid for (uuid,) in cursor.fetchall())
    return {"lots": lots, "rows": rows, "uuids": uuids}


@pytest.mark.parametrize("name", BOOKS)
def test_a_book_of_before_comes_to_todays_state_whole(name, tmp_path):
    with opened(thawed(name, tmp_path / "book.sqlite3")) as alias:
        before = said(alias)
        assert len(before["lots"]) == 12
        assert len(before["uuids"]) > 20
        call_command("migrate", database=alias, interactive=False, verbosity=0)
        assert said(alias) == before
        found = audit(alias)
        assert found.faults == []
        assert (found.lots, found.records) == (12, len(before["uuids"]))
        assert not contents.OLD.intersection(connections[alias].introspection.table_names())
