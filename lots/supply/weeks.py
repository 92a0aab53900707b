"""Pots to come by ISO week. A week's pots are those expected on its days; what should have come
before today is expected this week."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, F, Prefetch, QuerySet, Sum
from django.utils import timezone

from lots.models import Forecast, ToCome
from lots.models.days import monday_of
from lots.outlook import calendar
from lots.outlook.calendar import Calendar, Kind
from lots.supply.stock import Coming

WEEK = timedelta(weeks=1)


@dataclass(frozen=True)
class Week:
    """Pots expected to finish in the ISO week from `monday` on, of which so many are still to be
    made of cells, and the band around them; None where no fit has told it yet. `lots` have pots
    in it, where that was asked."""

    monday: date
    pots: int
    cells: int
    low: int | None
    high: int | None
    lots: int = 0


@dataclass(frozen=True)
class Outlook:
    """The coming weeks of the whole nursery, and the pots expected `later` than those. `read_at`
    is when the book was read for the bands, None while they haven't been worked out."""

    read_at: datetime | None
    weeks: list[Week]
    later: int

    @property
    def pots(self) -> int:
        return sum(week.pots for week in self.weeks)


def ahead(count: int, today: date | None = None) -> Outlook:
    """The next `count` weeks, this one first, and what comes after."""
    end = monday_of(today or timezone.localdate()) + count * WEEK
    after = ToCome.objects.filter(day__gte=end).aggregate(pots=Sum(F("growing") + F("cells")))
    newest = calendar.newest()
    return Outlook(newest[0] if newest else None, weeks(count, today), after["pots"] or 0)


def weeks(count: int, today: date | None = None) -> list[Week]:
    """The next `count` weeks of the whole nursery, this one first, with how many lots."""
    monday = monday_of(today or timezone.localdate())
    end = monday + count * WEEK
    rows = (
        ToCome.objects.filter(day__lt=end)
        .order_by("day")
        .values_list("day")
        .annotate(growing_on=Sum("growing"), in_cells=Sum("cells"), rows=Count("pk"))
    )
    coming, lots = [], dict.fromkeys((monday + n * WEEK for n in range(count)), 0)
    for day, growing, cells, number in rows:
        coming.append(Coming(day, growing + cells, cells))
        lots[max(monday_of(day), monday)] += number
    # A lot may have pots of several weeks that are past.
    lots[monday] = lots_of(monday, monday).values("lot").distinct().count()
    newest = calendar.newest()
    found = spread(coming, count, monday, newest[1] if newest else None)
    return [
        Week(week.monday, week.pots, week.cells, week.low, week.high, lots[week.monday])
        for week in found
    ]


def lots_of(monday: date, today: date | None = None) -> QuerySet[ToCome]:
    """The pots to come of a week, a row a lot, each lot with its newest forecast as `newest`; those
    of this week with all that should have come before it."""
    rows = ToCome.objects.filter(day__lt=monday + WEEK)
    if monday > monday_of(today or timezone.localdate()):
        rows = rows.filter(day__gte=monday)
    newest = Forecast.objects.filter(moment=Forecast.Moment.NEWEST)
    return (
        rows.select_related(
            "lot__variety", "lot__method", "lot__place", "lot__pots_place", "pot_size"
        )
        .prefetch_related(Prefetch("lot__forecasts", newest, to_attr="newest"))
        .order_by("day", "lot__code")
    )


def spread(
    coming: Iterable[Coming],
    count: int,
    monday: date,
    bands: Calendar | None,
    kind: Kind | None = None,
) -> list[Week]:
    """Pots to come as `count` weeks from `monday` on; what is past counts for the first of them.
    The band is of the newest fit; where records since then tell more or fewer, it reaches them."""
    pots, cells = [0] * count, [0] * count
    for each in coming:
        n = max((monday_of(each.day) - monday).days // 7, 0)
        if n < count:
            pots[n] += each.pots
            cells[n] += each.cells
    found = []
    for n in range(count):
        start = monday + n * WEEK
        band = bands.week(start, kind) if bands else None
        low, high = (min(band[0], pots[n]), max(band[1], pots[n])) if band else (None, None)
        found.append(Week(start, pots[n], cells[n], low, high))
    return found
