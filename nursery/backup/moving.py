"""From SQLite to PostgreSQL with nothing lost: all rows of all tables, as they are."""

from itertools import batched

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import Model

from lots.models.triggers import keep_records, release_records

BATCH = 2000


def move(alias: str) -> None:
    """Write every row of another database, of the same form, over the book's."""
    models = _in_order(
        [model for model in apps.get_models(include_auto_created=True) if model._meta.managed]
    )
    with transaction.atomic():
        release_records(connection.alias)
        with connection.cursor() as cursor:
            tables = [connection.ops.quote_name(model._meta.db_table) for model in models]
            cursor.execute(f"TRUNCATE {', '.join(tables)}")
        keep_records(connection.alias)
        for model in models:
            stored = model._base_manager.using(alias).order_by("pk").iterator(BATCH)
            for some in batched(stored, BATCH):
                model._base_manager.using("default").bulk_create(some)
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), models):
                cursor.execute(statement)


def _in_order(models: list[type[Model]]) -> list[type[Model]]:
    """Models after those that they refer to, as far as that can be: a variety has a picture of one
    of its lots. The database looks at references only at the end of the transaction."""
    done: list[type[Model]] = []
    begun: set[type[Model]] = set()

    def take(model: type[Model]) -> None:
        if model in begun:
            return
        begun.add(model)
        for field in model._meta.concrete_fields:
            other = field.related_model
            if other is not None and other is not model and other in models:
                take(other)
        done.append(model)

    for model in models:
        take(model)
    return done
