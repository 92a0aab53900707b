"""Changes of the nursery that somebody noted, as the fit takes them and as they turned out."""

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from lots.forecast.arrays import Floats, Ints, Keys
from lots.forecast.lotrows import CHANGE
from lots.models import NotedChange
from lots.outlook import effects
from lots.outlook.effects import Effect

if TYPE_CHECKING:
    from lots.outlook.fits import Fits

AFTER = "after"  # what lots are told by that a change touches


class Change(NamedTuple):
    """A change from a day on. house: the first part of its places' names, in no capitals, or ''
    for all; group: key of a crop group, or None for all."""

    key: int
    day: date
    house: str
    group: int | None


def noted(by: date | None = None) -> list[Change]:
    """All changes in the book, or those up to a day."""
    rows = NotedChange.objects.order_by("day", "pk")
    if by:
        rows = rows.filter(day__lte=by)
    return [
        Change(key, day, house.casefold(), group)
        for key, day, house, group in rows.values_list("pk", "day", "house", "group")
    ]


def told(changes: Iterable[Change], days: Floats, groups: Ints, houses: Keys) -> dict[str, Keys]:
    """Which of n lots each change touches, as traits of `lotrows.Lots`; (n,) each: ordinal days of
    sticking, nan for none, keys of crop groups, and houses in no capitals."""
    return {
        f"{CHANGE}{change.key}": np.where(
            (days >= change.day.toordinal())
            & ((groups == change.group) | (change.group is None))
            & ((houses == change.house) | (change.house == "")),
            AFTER,
            "",
        )
        for change in changes
    }


def turned_out(fits: "Fits") -> dict[int, dict[str, Effect]]:
    """How large each change turned out by a fit, by its key and stage; without the stages of which
    no lot tells it yet."""
    return {
        change.key: effects.of_word(fits, f"{CHANGE}{change.key}", AFTER) for change in fits.changes
    }


def dump(changes: Iterable[Change]) -> list[dict[str, Any]]:
    """As dictionaries, fit for JSON."""
    return [change._asdict() | {"day": change.day.isoformat()} for change in changes]


def load(data: Iterable[dict[str, Any]]) -> tuple[Change, ...]:
    """What `dump` made the data of."""
    return tuple(Change(**row | {"day": date.fromisoformat(row["day"])}) for row in data)
