"""How a person's lots took, against what was to be expected of just those lots: season, variety,
method and stock plant are in the forecast that each had when it was stuck."""

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from lots.models import Lot, Method
from lots.outlook import facts, verification
from lots.outlook.rows import taken

NEWEST = 500  # lots that are looked at
LEAST = 3  # lots of a method under which nothing is said


@dataclass(frozen=True, slots=True)
class Work:
    """A person's lots of a method whose take is known: of so many `units` `took`; from `low` to
    `high` were to be expected, 8 times in 10."""

    method: Method
    lots: int
    units: int
    took: int
    low: int
    high: int

    @property
    def verdict(self) -> str:
        """more, fewer, or as expected."""
        return "more" if self.took > self.high else "fewer" if self.took < self.low else "as"


def of_person(person, today: date | None = None) -> list[Work]:
    """By method, the one with most lots first; those of a trial, where it is drawn who sticks
    what, count like all others."""
    stuck = Lot.objects.filter(stuck_by=person, stuck_on__isnull=False)
    newest = stuck.order_by("-stuck_on", "-pk").values_list("pk", flat=True)[:NEWEST]
    known = facts.standing(Lot.objects.filter(pk__in=list(newest)))
    by_method: dict[int, list[verification.Told]] = defaultdict(list)
    for one in verification.told(known, today or timezone.localdate())["take"]:
        by_method[one.lot.method].append(one)
    methods = Method.objects.in_bulk(by_method)
    found = [_work(methods[key], told) for key, told in by_method.items() if len(told) >= LEAST]
    return sorted(found, key=lambda work: (-work.lots, work.method.name))


def _work(method: Method, told: list[verification.Told]) -> Work:
    """The range of a sum: the lots' own bands, taken for those of independent normal numbers, whose
    half-widths add up as their squares do."""
    mean = sum(row.take_mean * lot.units for lot, row in told)
    halves = ((row.take_p90 - row.take_p10) * lot.units / 2 for lot, row in told)
    spread = math.hypot(*halves)
    units = sum(lot.units for lot, _row in told)
    return Work(
        method,
        len(told),
        units,
        sum(taken(lot) for lot, _row in told),
        max(round(mean - spread), 0),
        min(round(mean + spread), units),
    )
