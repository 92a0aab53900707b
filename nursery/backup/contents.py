"""What is in a database: rows by table, what the audit says, how new its form is."""

from dataclasses import dataclass

from django.db import connections
from django.db.migrations.loader import MigrationLoader
from django.utils.translation import gettext as _

from lots import codes
from lots.audit import audit
from nursery.backup.archive import BackupFault


@dataclass(frozen=True)
class Contents:
    """`rows` by table; `faults` are the audit's, in sentences; `migrations` the applied ones, as
    app and name."""

    rows: dict[str, int]
    faults: list[str]
    migrations: set[tuple[str, str]]


def rows_of(alias: str) -> dict[str, int]:
    """How many rows each table of a database has."""
    there = connections[alias]
    counts = {}
    with there.cursor() as cursor:
        for table in sorted(there.introspection.table_names(cursor)):
            cursor.execute(f"SELECT COUNT(*) FROM {there.ops.quote_name(table)}")  # noqa: S608
            counts[table] = cursor.fetchone()[0]
    return counts


def faults_of(alias: str) -> list[str]:
    return [
        f"{codes.show(fault.lot)}: {fault.says}" if fault.lot else fault.says
        for fault in audit(alias).faults
    ]


def check_not_newer(migrations: set[tuple[str, str]]) -> None:
    """Raise BackupFault for a database that a newer version of the program wrote."""
    if not migrations:
        raise BackupFault(_("There is no book in this backup."))
    loader = MigrationLoader(None)
    known = set(loader.disk_migrations) | {
        replaced for squashed in loader.replacements.values() for replaced in squashed.replaces
    }
    ours = {app for app, _name in known}
    if newer := sorted(".".join(key) for key in migrations - known if key[0] in ours):
        raise BackupFault(
            _(
                "This backup was made by a newer version of the program (it knows %(newer)s); "
                "install that version first."
            )
            % {"newer": ", ".join(newer)}
        )
