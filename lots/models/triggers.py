"""The database's own guard that a record is never edited or deleted, only voided, once; and
that what a lot said before it was corrected is never changed at all.

Django has no triggers of its own, so they are laid anew after every migrate: SQLite's way of
altering a table (copy and rename) drops them, and a column that is added is to be guarded too.
SQLite's INSERT OR REPLACE deletes without asking the triggers on DELETE, so there an insert
looks for itself what it would replace (https://sqlite.org/lang_conflict.html). PostgreSQL's
TRUNCATE asks only a trigger of its own; SQLite has no such statement.
"""

from django.db import connections, transaction
from django.db.models import Model

from lots.models.correction import Correction
from lots.models.records import RECORDS

KEPT = [*RECORDS.values(), Correction]
AGAINST_LOSS = {"never_deleted", "never_emptied"}
MAY_CHANGE = {"voided_at", "voided_by_id", "voided_why"}

# What each guard of a table is laid by. `columns` are those that may not change, `twin` is the row
# that an insert would replace.
SQLITE = {
    "never_edited": """
CREATE TRIGGER {table}_never_edited BEFORE UPDATE OF {columns} ON {table}
BEGIN SELECT RAISE(ABORT, 'a record is never edited: void it and write a new one'); END""",
    "voided_once": """
CREATE TRIGGER {table}_voided_once BEFORE UPDATE ON {table}
WHEN OLD.voided_at IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a voided record stays as it is'); END""",
    "never_deleted": """
CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'a record is never deleted: void it'); END""",
    "never_replaced": """
CREATE TRIGGER {table}_never_replaced BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE {twin})
BEGIN SELECT RAISE(ABORT, 'a record is stored once'); END""",
}

FUNCTION = """
CREATE OR REPLACE FUNCTION strikebook_keep_record() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
END $$"""
POSTGRESQL = {
    "never_edited": """
CREATE OR REPLACE TRIGGER {table}_never_edited BEFORE UPDATE OF {columns} ON {table}
FOR EACH ROW EXECUTE FUNCTION
    strikebook_keep_record('a record is never edited: void it and write a new one')""",
    "voided_once": """
CREATE OR REPLACE TRIGGER {table}_voided_once BEFORE UPDATE ON {table}
FOR EACH ROW WHEN (OLD.voided_at IS NOT NULL) EXECUTE FUNCTION
    strikebook_keep_record('a voided record stays as it is')""",
    "never_deleted": """
CREATE OR REPLACE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION strikebook_keep_record('a record is never deleted: void it')""",
    "never_emptied": """
CREATE OR REPLACE TRIGGER {table}_never_emptied BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION
    strikebook_keep_record('a record is never deleted: void it')""",
}


def guards_of(model: type[Model], vendor: str) -> dict[str, str]:
    """The guards of a table, and what each is laid by. A correction is never voided."""
    guards = SQLITE if vendor == "sqlite" else POSTGRESQL
    skipped = "voided_once" if model is Correction else None
    return {guard: laid_by for guard, laid_by in guards.items() if guard != skipped}


def keep_records(using: str, **_kwargs: object) -> None:
    """Lay the triggers on every table of records (a post_migrate receiver)."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    with transaction.atomic(using), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
        for model in KEPT:
            table = model._meta.db_table
            if table not in tables:  # migrated back to before the records
                continue
            there = connection.introspection.get_table_description(cursor, table)
            columns = ", ".join(
                connection.ops.quote_name(column.name)
                for column in there
                if column.name not in MAY_CHANGE
            )
            twin = "id = NEW.id" if model is Correction else "id = NEW.id OR uuid = NEW.uuid"
            for guard, laid_by in guards_of(model, connection.vendor).items():
                if connection.vendor == "sqlite":
                    cursor.execute(f"DROP TRIGGER IF EXISTS {table}_{guard}")
                cursor.execute(laid_by.format(table=table, columns=columns, twin=twin))


def release_records(using: str) -> None:
    """Take away what forbids deleting records, to throw a whole book away; `keep_records`, and so
    the next migrate or flush, lays it again."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for model in KEPT:
            table = model._meta.db_table
            for guard in AGAINST_LOSS.intersection(guards_of(model, connection.vendor)):
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_{guard}{on}")


def missing_triggers(using: str) -> list[str]:
    """The names of the triggers that should be in the database and are not."""
    connection = connections[using]
    names = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
    )
    with connection.cursor() as cursor:
        cursor.execute(names)
        there = {name for (name,) in cursor.fetchall()}
    wanted = (
        f"{model._meta.db_table}_{guard}"
        for model in KEPT
        for guard in guards_of(model, connection.vendor)
    )
    return [name for name in wanted if name not in there]
