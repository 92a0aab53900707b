"""The database's own guard of rule 1: a record is never edited or deleted, only voided, once.

Django has no triggers of its own, so they are laid after every migrate, which also puts them
back where SQLite's way of altering a table (copy and rename) has dropped them.
SQLite's INSERT OR REPLACE deletes without asking the triggers on DELETE, so there an insert
looks for itself what it would replace (https://sqlite.org/lang_conflict.html). PostgreSQL's
TRUNCATE asks only a trigger of its own; SQLite has no such statement.
"""

from django.db import connections

from lots.models.records import RECORDS

GUARDS = {
    "sqlite": ("never_edited", "voided_once", "never_deleted", "never_replaced"),
    "postgresql": ("never_edited", "voided_once", "never_deleted", "never_emptied"),
}
AGAINST_LOSS = {"never_deleted", "never_emptied"}
MAY_CHANGE = {"voided_at", "voided_by_id", "voided_why"}

SQLITE = """
CREATE TRIGGER IF NOT EXISTS {table}_never_edited BEFORE UPDATE OF {columns} ON {table}
BEGIN SELECT RAISE(ABORT, 'a record is never edited: void it and write a new one'); END;
CREATE TRIGGER IF NOT EXISTS {table}_voided_once BEFORE UPDATE ON {table}
WHEN OLD.voided_at IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a voided record stays as it is'); END;
CREATE TRIGGER IF NOT EXISTS {table}_never_deleted BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'a record is never deleted: void it'); END;
CREATE TRIGGER IF NOT EXISTS {table}_never_replaced BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id OR uuid = NEW.uuid)
BEGIN SELECT RAISE(ABORT, 'a record is stored once'); END;
"""

POSTGRESQL = """
CREATE OR REPLACE FUNCTION strikebook_keep_record() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
END $$;
CREATE OR REPLACE TRIGGER {table}_never_edited BEFORE UPDATE OF {columns} ON {table}
FOR EACH ROW EXECUTE FUNCTION
    strikebook_keep_record('a record is never edited: void it and write a new one');
CREATE OR REPLACE TRIGGER {table}_voided_once BEFORE UPDATE ON {table}
FOR EACH ROW WHEN (OLD.voided_at IS NOT NULL) EXECUTE FUNCTION
    strikebook_keep_record('a voided record stays as it is');
CREATE OR REPLACE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION strikebook_keep_record('a record is never deleted: void it');
CREATE OR REPLACE TRIGGER {table}_never_emptied BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION
    strikebook_keep_record('a record is never deleted: void it');
"""


def keep_records(using: str, **_kwargs: object) -> None:
    """Lay the triggers on every table of records (a post_migrate receiver)."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model in RECORDS.values():
            table = model._meta.db_table
            if table not in tables:  # migrated back to before the records
                continue
            columns = ", ".join(
                connection.ops.quote_name(field.column)
                for field in model._meta.concrete_fields
                if field.column not in MAY_CHANGE
            )
            if connection.vendor == "sqlite":
                for statement in SQLITE.format(table=table, columns=columns).split("END;"):
                    if statement.strip():
                        cursor.execute(statement + "END")
            else:
                cursor.execute(POSTGRESQL.format(table=table, columns=columns))


def release_records(using: str) -> None:
    """Take away what forbids deleting records, to throw a whole book away; `keep_records`, and so
    the next migrate or flush, lays it again."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for model in RECORDS.values():
            table = model._meta.db_table
            for guard in AGAINST_LOSS.intersection(GUARDS[connection.vendor]):
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
        for model in RECORDS.values()
        for guard in GUARDS[connection.vendor]
    )
    return [name for name in wanted if name not in there]
