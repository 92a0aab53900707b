"""Who changed what, and when, in the catalogues, sessions and people."""

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from django.db import models
from django.utils.translation import gettext as _

SHOWN = 20


@dataclass(frozen=True)
class Change:
    """One saving of a row: the fields that changed, as (name, before, after)."""

    at: datetime
    by: models.Model | None
    made: bool  # the row was made then
    fields: list[tuple[str, str, str]]


def changes(row: models.Model) -> list[Change]:
    """The newest changes of a row that keeps its history, newest first.

    Rows that came in bulk, by an import say, begin their history with their first change.
    """
    versions = list(row.history.select_related("history_user")[: SHOWN + 1])
    found = [_change(new, old) for new, old in pairwise(versions)]
    if versions and len(versions) <= SHOWN and versions[-1].history_type == "+":
        first = versions[-1]
        found.append(Change(first.history_date, first.history_user, made=True, fields=[]))
    return [change for change in found if change.made or change.fields]


def _change(new: models.Model, old: models.Model) -> Change:
    delta = new.diff_against(old, foreign_keys_are_objs=True)
    fields = []
    for changed in delta.changes:
        field = new.instance_type._meta.get_field(changed.field)
        before, after = (_shown(field, value) for value in (changed.old, changed.new))
        fields.append((str(field.verbose_name), before, after))
    return Change(new.history_date, new.history_user, made=False, fields=fields)


def _shown(field: models.Field, value: object) -> str:
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return str(dict(field.flatchoices).get(value, value))
