"""The pots themselves, read from the book: finished here, and to come by day."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import QuerySet, Sum
from django.db.models.functions import Coalesce

from lots.models import Forecast, Lot, PotSize, ToCome
from lots.outlook.calendar import Kind


class Coming(NamedTuple):
    """Pots of one kind expected about a day, of which so many are to be made of `cells`."""

    day: date
    pots: int
    cells: int


def finished(varieties: Iterable[int] | None = None) -> dict[Kind, int]:
    """Finished pots here by variety and size, of all varieties or of some."""
    lots = Lot.objects.filter(pots_finished__gt=0).order_by()
    if varieties is not None:
        lots = lots.filter(variety__in=varieties)
    size = Coalesce("direct_pot_size", "pot_size")
    rows = lots.values_list("variety", size).annotate(pots=Sum("pots_finished"))
    return {Kind(variety, size): pots for variety, size, pots in rows}


def coming(varieties: Iterable[int] | None = None) -> dict[Kind, list[Coming]]:
    """Pots to come by variety and size, the first ones first, of all varieties or of some."""
    found: dict[Kind, list[Coming]] = defaultdict(list)
    rows: QuerySet = ToCome.objects.order_by("day")
    if varieties is not None:
        rows = rows.filter(variety__in=varieties)
    for day, variety, size, growing, cells in rows.values_list(
        "day", "variety", "pot_size"
    ).annotate(growing_on=Sum("growing"), in_cells=Sum("cells")):
        found[Kind(variety, size)].append(Coming(day, growing + cells, cells))
    return found


@dataclass(frozen=True)
class OfLot:
    """What one lot gives: finished pots here; to come, with a band, of which so many are to be made
    of cells, in pots of `size`; and by the days about which they are expected."""

    here: int
    to_come: int
    low: int
    high: int
    cells: int
    size: PotSize | None
    days: list[Coming]

    @property
    def in_all(self) -> int:
        return self.here + self.to_come


def of_lot(lot: Lot, forecast: Forecast) -> OfLot:
    """What a lot gives by its newest forecast."""
    rows = list(ToCome.objects.filter(lot=lot).select_related("pot_size").order_by("day"))
    return OfLot(
        here=lot.pots_finished,
        to_come=forecast.to_come,
        low=forecast.to_come_p10,
        high=forecast.to_come_p90,
        cells=sum(row.cells for row in rows),
        size=rows[0].pot_size if rows else None,
        days=[Coming(row.day, row.growing + row.cells, row.cells) for row in rows],
    )
