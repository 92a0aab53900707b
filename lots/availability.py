"""What can be had and when: pots finished now, and pots expected week by week with a band, of the
whole nursery and by variety and size."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from lots import outlook
from lots.forecast.weeks import Weeks
from lots.models import Lot, PotSize, Variety


@dataclass(frozen=True)
class Week:
    """Pots expected to finish in the ISO week from `monday` on, and the band around it."""

    monday: date
    pots: int
    low: int
    high: int


@dataclass(frozen=True)
class Line:
    """A variety in a pot size (None while not potted up)."""

    variety: Variety
    size: PotSize | None
    now: int
    weeks: list[Week] = field(default_factory=list)

    @property
    def coming(self) -> int:
        return sum(week.pots for week in self.weeks)


@dataclass(frozen=True)
class Outlook:
    """`weeks` of the whole nursery; `read_at` is when the book was read for what is to come, None
    while no forecast has been made."""

    read_at: datetime | None
    weeks: list[Week]


def expected(weeks: int, today: date | None = None) -> Outlook:
    """What is expected to finish in the coming weeks, this one first."""
    newest = outlook.calendar.newest()
    if newest is None:
        return Outlook(None, [])
    read_at, kept = newest
    return Outlook(read_at, _weeks(kept.monday, kept.total, weeks, _monday(today)))


def lines(weeks: int, today: date | None = None) -> list[Line]:
    """By variety and size, in the order of names: what stands finished, and what is to come."""
    size = Coalesce("direct_pot_size", "pot_size")
    now = {
        (variety, size): pots
        for variety, size, pots in Lot.objects.filter(pots_finished__gt=0)
        .order_by()
        .values_list("variety", size)
        .annotate(pots=Sum("pots_finished"))
    }
    coming = {}
    if newest := outlook.calendar.newest():
        kept, monday = newest[1], _monday(today)
        coming = {
            (kind.variety, kind.size): _weeks(kept.monday, of, weeks, monday)
            for kind, of in kept.kinds.items()
        }
    varieties = Variety.objects.in_bulk({variety for variety, _ in [*now, *coming]})
    sizes = PotSize.objects.in_bulk({size for _, size in [*now, *coming] if size})
    found = [
        Line(varieties[kind[0]], sizes.get(kind[1]), now.get(kind, 0), coming.get(kind, []))
        for kind in {*now, *coming}
        if kind[0] in varieties
    ]
    return sorted((line for line in found if line.now or line.coming), key=_name)


def _name(line: Line) -> tuple[str, str, float]:
    size = float(line.size.diameter_cm) if line.size else 0.0
    return str(line.variety).casefold(), line.variety.code, size


def _monday(today: date | None) -> date:
    day = today or timezone.localdate()
    return day - timedelta(days=day.weekday())


def _weeks(first: date, of: Weeks, count: int, monday: date) -> list[Week]:
    rows: Iterable = zip(of.mean, of.p10, of.p90, strict=True)
    found = [
        Week(first + timedelta(weeks=n), round(float(mean)), int(low), int(high))
        for n, (mean, low, high) in enumerate(rows)
    ]
    return [week for week in found if week.monday >= monday][:count]
