"""What is in a database: rows by table, what the audit says, how new its form is."""

from dataclasses import dataclass

from django.db import connections, transaction
from django.db.migrations.loader import MigrationLoader
from django.utils.translation import gettext as _

from lots import codes
from lots.ledger.audit import audit
from nursery.backup.archive import BackupFault
from nursery.models import KnownDevice, SignIn, WrongPasswords

# Where failed attempts stood before; books of then have these tables until they are migrated.
OLD = frozenset(
    f"axes_{name}"
    for name in ("accessattempt", "accesslog", "accessfailurelog", "accessattemptexpiration")
)


@dataclass(frozen=True)
class Contents:
    """`rows` by table, sign-ins left out; `faults` are the audit's, in sentences; `migrations`
    the applied ones, as app and name."""

    rows: dict[str, int]
    faults: list[str]
    migrations: set[tuple[str, str]]


def sign_ins() -> frozenset[str]:
    """The tables of who is signed in where, and of failed attempts. They are no part of the book:
    a session's key in a backup would open the book to whoever finds the file."""
    return frozenset(model._meta.db_table for model in (SignIn, KnownDevice, WrongPasswords)) | OLD


def forget_sign_ins(alias: str) -> None:
    """End all sessions of a database, of whatever form it is."""
    there = connections[alias]
    with transaction.atomic(using=alias), there.cursor() as cursor:
        for table in sorted(sign_ins().intersection(there.introspection.table_names(cursor))):
            cursor.execute(f"DELETE FROM {there.ops.quote_name(table)}")  # noqa: S608


def of_the_book(rows: dict[str, int]) -> dict[str, int]:
    """Rows by table, the tables of sign-ins left out: older backups hold them."""
    return {table: count for table, count in rows.items() if table not in sign_ins()}


def rows_of(alias: str) -> dict[str, int]:
    """How many rows each table of a database has, sign-ins left out."""
    there = connections[alias]
    counts = {}
    with there.cursor() as cursor:
        for table in sorted(there.introspection.table_names(cursor)):
            cursor.execute(f"SELECT COUNT(*) FROM {there.ops.quote_name(table)}")  # noqa: S608
            counts[table] = cursor.fetchone()[0]
    return of_the_book(counts)


def faults_of(alias: str) -> list[str]:
    return [
        f"{codes.show(fault.lot)}: {fault.says}" if fault.lot else fault.says
        for fault in audit(alias).faults
    ]


def check_not_newer(migrations: set[tuple[str, str]]) -> None:
    """Raise BackupFault for a database that a newer version of the program wrote."""
    if not migrations:
        raise BackupFault(_("There is no book in this backup."))
    if newer := beyond_the_program(migrations):
        raise BackupFault(
            _(
                "This backup was made by a newer version of the program (it knows %(newer)s); "
                "install that version first."
            )
            % {"newer": ", ".join(newer)}
        )


def beyond_the_program(migrations: set[tuple[str, str]]) -> list[str]:
    """Those of the applied migrations that only a newer version of the program knows."""
    loader = MigrationLoader(None)
    known = set(loader.disk_migrations) | {
        replaced for squashed in loader.replacements.values() for replaced in squashed.replaces
    }
    ours = {app for app, _name in known}
    return sorted(".".join(key) for key in migrations - known if key[0] in ours)
