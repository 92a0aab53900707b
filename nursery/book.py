"""Whether there is a book in the database, for the commands that need one or make one."""

from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.utils.translation import gettext as _

from nursery.backup import Backup, BackupFault, backup
from nursery.backup.contents import beyond_the_program
from nursery.models import BookSettings

ROOMS = ["nursery", "lots", "labels"]


def is_behind() -> bool:
    """Whether the tables are missing, or older than the program."""
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def refuse_newer() -> None:
    """Raise CommandError for a book that a newer version of the program has written."""
    applied = set(MigrationRecorder(connection).applied_migrations())
    if newer := beyond_the_program(applied):
        raise CommandError(
            _(
                "The book in %(folder)s was written by a newer version of the program (it knows "
                "%(newer)s), and this one would damage it. Install that version again."
            )
            % {"folder": settings.DATA_DIR, "newer": ", ".join(newer)}
        )


def bring_up_to_date() -> Backup | None:
    """Bring the tables to the program's form, after a backup of what they hold; returns it. Raises
    CommandError where that fails: nothing is changed then."""
    made = None
    if has_tables():
        try:
            made = backup(auditing=False)
        except (BackupFault, OSError) as fault:
            says = _("The book is not brought up to date, since no backup can be made: %(fault)s")
            raise CommandError(says % {"fault": fault}) from fault
    call_command("migrate", interactive=False, verbosity=0)
    return made


def has_tables() -> bool:
    return "lots_lot" in connection.introspection.table_names()


def holds_something() -> bool:
    """Whether anything was ever written into the book, whatever program wrote it. Only reads."""
    tables = set(connection.introspection.table_names())
    models = {model for room in ROOMS for model in apps.get_app_config(room).get_models()}
    models.discard(BookSettings)  # an empty book has them, too
    return any(model._meta.db_table in tables and model._base_manager.exists() for model in models)


def require_book() -> None:
    """Raise CommandError, saying what to do, unless there is a book of today's form."""
    if not has_tables():
        raise CommandError(
            _(
                "There is no book in %(folder)s yet. Make an empty one with manage.py migrate, "
                "or an invented one to look around in with manage.py demo."
            )
            % {"folder": settings.DATA_DIR}
        )
    refuse_newer()
    if is_behind():
        raise CommandError(
            _(
                "The book in %(folder)s was written by an older version of the program. Bring "
                "it up to date with manage.py migrate."
            )
            % {"folder": settings.DATA_DIR}
        )
