"""Names that differ in capitals only, told apart before a constraint forbids them.

A book that has such a pair comes through the migration without anybody's help: the one that was
there first keeps its name, each later one gets a number, so that `bench 1` beside `Bench 1` becomes
`bench 1-2`. That is said while migrating, and stands in the row's history.
"""

import sys
from collections.abc import Iterable

from django.utils import timezone
from django.utils.translation import gettext as _


def new_names(names: Iterable[tuple[int, str]], most: int) -> dict[int, str]:
    """The new names, of at most so many characters, of the rows that need one, by their keys."""
    rows = sorted(names)
    taken = {name.casefold() for _pk, name in rows}
    seen: set[str] = set()
    found = {}
    for pk, name in rows:
        if name.casefold() not in seen:
            seen.add(name.casefold())
            continue
        number = 2
        while (new := _numbered(name, number, most)).casefold() in taken:
            number += 1
        taken.add(new.casefold())
        found[pk] = new
    return found


def _numbered(name: str, number: int, most: int) -> str:
    end = f"-{number}"
    return name[: most - len(end)] + end


def tell_apart(apps, alias: str, app: str, table: str, field: str) -> bool:
    """Rename the rows of a table of a database; whether there were any to rename."""
    model = apps.get_model(app, table)
    most = model._meta.get_field(field).max_length
    rows = model.objects.using(alias)
    renamed = new_names(rows.values_list("pk", field), most)
    for pk, new in renamed.items():
        row = rows.get(pk=pk)
        old = getattr(row, field)
        setattr(row, field, new)
        row.save(update_fields=[field])
        _write_history(apps, alias, app, table, row, {field: old})
        says = _(
            "“%(old)s” (%(table)s) differed in capitals only from another of the book, and is "
            "called “%(new)s” from now on."
        )
        words = {"table": model._meta.verbose_name, "old": old, "new": new}
        sys.stderr.write(says % words + "\n")
    return bool(renamed)


def _write_history(apps, alias: str, app: str, table: str, row, before: dict[str, str]) -> None:
    """The row as it is now, after how it was, if the table keeps its history."""
    try:
        history = apps.get_model(app, f"historical{table}")
    except LookupError:
        return
    kept = {field.name for field in history._meta.concrete_fields}
    now = {
        field.attname: getattr(row, field.attname)
        for field in row._meta.concrete_fields
        if field.name in kept
    }
    versions = (
        [now] if history.objects.using(alias).filter(id=row.pk).exists() else [now | before, now]
    )
    for version in versions:
        history.objects.using(alias).create(
            **version, history_type="~", history_date=timezone.now()
        )
