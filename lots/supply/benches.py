"""What stands on the benches and wants room or hands: lots to pot up, and lots that hold more bench
than they will give."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from django.db.models import Prefetch, Sum

from lots.models import Forecast, Lot, Stage
from lots.models.lot import struck_in_cells
from lots.supply.plan import Line
from lots.supply.plan.room import CELLS_PER_FLAT, area_m2

# A lot that gives less than this part of what a new one would give in its place is asked about.
LITTLE = 1 / 3
MOST = 12  # that are asked about


@dataclass(frozen=True)
class ToPotUp:
    """A lot that has struck and stands in cells: the pots that it makes, and m² that they need,
    None while their size isn't known."""

    lot: Lot
    pots: int
    area: float | None


def to_pot_up() -> list[ToPotUp]:
    """Those that struck first, first."""
    lots = (
        Lot.objects.filter(struck_in_cells())
        .select_related("variety", "place", "pots_place")
        .order_by("struck_on", "code")
    )
    found = []
    for lot in lots.prefetch_related("to_come__pot_size"):
        rows = [row for row in lot.to_come.all() if row.cells]
        pots = sum(row.cells for row in rows)
        sizes = [row.pot_size for row in rows if row.pot_size]
        area = pots * area_m2(float(sizes[0].diameter_cm)) if sizes else None
        found.append(ToPotUp(lot, pots, area))
    return found


@dataclass(frozen=True)
class Poor:
    """A lot in cells that holds its flats for so many flat-weeks yet and gives so many pots in all;
    `pots_a_week` a flat, and `instead` what a new lot would give there."""

    lot: Lot
    pots: int
    flat_weeks: float
    pots_a_week: float
    instead: float


def poor(lines: Sequence[Line], today: date) -> list[Poor]:
    """Lots on the propagation bench that give little for the room, against the lots that a plan
    would stick: the poorest first. None where nothing waits for the room."""
    units: dict[tuple, float] = {}
    for line in lines:
        key = line.target.which
        room = line.units / CELLS_PER_FLAT * (_weeks(line.week, line.bench) + 1)
        units[key] = units.get(key, 0.0) + room
    pots = {line.target.which: line.target.pots for line in lines}
    waiting = [pots[key] / room for key, room in units.items()]
    if not waiting:
        return []
    instead = median(waiting)
    newest = Forecast.objects.filter(moment=Forecast.Moment.NEWEST)
    lots = (
        Lot.objects.filter(stage=Stage.STUCK, cells__gt=0, direct_pot_size=None)
        .select_related("variety", "place", "pots_place")
        .prefetch_related(Prefetch("forecasts", newest, to_attr="newest"))
        .annotate(to_make=Sum("to_come__cells"))
    )
    found = []
    for lot in lots:
        if not lot.newest:
            continue
        weeks = max(_weeks(today, lot.newest[0].struck_p50), 0) + 1
        flat_weeks = lot.cells / CELLS_PER_FLAT * weeks
        gives = (lot.to_make or 0) / flat_weeks
        if gives < LITTLE * instead:
            found.append(Poor(lot, lot.to_make or 0, flat_weeks, gives, instead))
    return sorted(found, key=lambda one: (one.pots_a_week, one.lot.code))[:MOST]


def _weeks(first: date, last: date) -> int:
    return (last - first).days // 7
