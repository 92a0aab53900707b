"""The availability list: each variety in each pot size, here now and to come week by week."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from lots.models import PotSize, Variety
from lots.outlook import calendar
from lots.supply.stock import coming, finished
from lots.supply.weeks import WEEK, Week, monday_of, spread


@dataclass(frozen=True)
class SupplyLine:
    """A variety in a pot size, None while it isn't known which. `now` are finished pots here; to
    come are those of the `weeks` and `later` ones, and of both together `cells` are still to be
    made of what stands in cells."""

    variety: Variety
    size: PotSize | None
    now: int
    weeks: list[Week]
    later: int
    cells: int

    @property
    def coming(self) -> int:
        return sum(week.pots for week in self.weeks) + self.later


def lines(
    count: int | None, today: date | None = None, only: Iterable[int] | None = None
) -> list[SupplyLine]:
    """By variety and size, in the order of names, with the next `count` weeks; None for as many as
    there are pots to come in. `only` are the keys of the varieties asked about, if not all are."""
    now, ahead = finished(only), coming(only)
    monday = monday_of(today or timezone.localdate())
    if count is None:
        last = max((days[-1].day for days in ahead.values()), default=monday)
        count = max((monday_of(last) - monday).days // 7 + 1, 1)
    newest = calendar.newest()
    kinds = {*now, *ahead}
    varieties = Variety.objects.in_bulk({kind.variety for kind in kinds})
    sizes = PotSize.objects.in_bulk({kind.size for kind in kinds if kind.size})
    found = []
    for kind in kinds:
        days = ahead.get(kind, [])
        found.append(
            SupplyLine(
                varieties[kind.variety],
                sizes.get(kind.size),
                now.get(kind, 0),
                spread(days, count, monday, newest[1] if newest else None, kind),
                sum(day.pots for day in days if day.day >= monday + count * WEEK),
                sum(day.cells for day in days),
            )
        )
    return sorted(found, key=_name)


def _name(line: SupplyLine) -> tuple[str, str, float]:
    size = float(line.size.diameter_cm) if line.size else 0.0
    return str(line.variety).casefold(), line.variety.code, size
