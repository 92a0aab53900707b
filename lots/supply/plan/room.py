"""What a week has room for, and what stands in it or is to be done in it anyway."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from lots.forecast.arrays import Floats, Ints
from lots.models import Limit, Lot, Method
from lots.outlook import facts
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.prediction import Prediction, predict
from lots.planning.problem import AREA, FLATS, MINUTES, RESOURCES
from lots.supply.plan.horizon import Horizon

# Where the book says nothing (common practice, no source): cells of a flat, and pieces that one
# person cuts and sticks in an hour.
CELLS_PER_FLAT = 48
PIECES_PER_HOUR = 120


@dataclass(frozen=True, slots=True)
class Room:
    """(weeks,) each, by resource: `limit`, inf where there is none, and what is `standing`; cells
    of a flat."""

    limit: dict[str, Floats]
    standing: dict[str, Floats]
    cells: Ints

    @property
    def left(self) -> dict[str, Floats]:
        return {name: np.maximum(self.limit[name] - self.standing[name], 0) for name in RESOURCES}


def room(horizon: Horizon, fits: Fits, known: Sequence[Facts]) -> Room:
    """The room of the weeks, with lots that stand and, as if stuck on their day, those planned."""
    limit, cells = _limits(horizon)
    standing = {name: np.zeros(horizon.weeks) for name in RESOURCES}
    if known:
        found = predict(fits, known, horizon.today)
        standing[FLATS] += _flats(horizon, known, found, cells)
        standing[AREA] += _area(horizon, known, found)
    standing[MINUTES] += _minutes(horizon, known)
    return Room(limit, standing, cells)


def pace() -> dict[int, float]:
    """Minutes that a piece takes, by method."""
    rates = Method.objects.values_list("pk", "pieces_per_hour")
    return {pk: 60 / (rate or PIECES_PER_HOUR) for pk, rate in rates}


def area_m2(pot_cm: float) -> float:
    """What a pot takes on the bench, pot thick: the square about it."""
    return (pot_cm / 100) ** 2


def as_planned(lot: Facts, today: date) -> Facts:
    """A planned lot as if stuck on its day, or today where that is over."""
    day = max(lot.session_day or today, today)
    return facts.unseen(lot)._replace(stuck_on=day, stuck_units=lot.planned_units)


def _limits(horizon: Horizon) -> tuple[dict[str, Floats], Ints]:
    rows = {row.week: row for row in Limit.objects.all()}
    usual = rows.get(None)
    limit = {name: np.full(horizon.weeks, np.inf) for name in RESOURCES}
    cells = np.full(horizon.weeks, CELLS_PER_FLAT)
    fields = {FLATS: "flats", MINUTES: "minutes", AREA: "pot_area_m2"}
    for week in range(horizon.weeks):
        row = rows.get(horizon.starts(week), usual)
        if row is None:
            continue
        for name, field in fields.items():
            if (most := getattr(row, field)) is not None:
                limit[name][week] = float(most)
        # A week of its own limits has the usual flats where it says nothing else.
        cells[week] = row.cells_per_flat or (usual and usual.cells_per_flat) or CELLS_PER_FLAT
    return limit, cells


def _flats(horizon: Horizon, known: Sequence[Facts], found: Prediction, cells: Ints) -> Floats:
    """Flats on the propagation bench: until the median day of striking, and what has struck until
    the end of this week. Lots that share a flat count it once."""
    codes = dict(Lot.objects.filter(flat__isnull=False).values_list("pk", "flat__code"))
    shared: dict[tuple[str, int], list[tuple[int, int]]] = defaultdict(list)
    total = np.zeros(horizon.weeks)
    for n, lot in enumerate(known):
        if lot.direct or lot.cells <= 0:
            continue
        first = max(horizon.of(lot.stuck_on), 0)
        strikes = lot.stuck_on + timedelta(days=round(float(found.struck.days[n, 1])))
        last = first if lot.struck_on else max(horizon.of(strikes), first)
        if code := codes.get(lot.pk):
            shared[code, first].append((last, lot.cells))
        else:
            total[first : last + 1] += _count(lot.cells, first, cells)
    for (_code, first), stays in shared.items():
        for week in range(first, min(max(last for last, _cells in stays) + 1, horizon.weeks)):
            there = sum(count for last, count in stays if last >= week)
            total[week] += _count(there, first, cells)
    return total


def _count(units: int, week: int, cells: Ints) -> int:
    return -(-units // int(cells[min(week, len(cells) - 1)]))


def _area(horizon: Horizon, known: Sequence[Facts], found: Prediction) -> Floats:
    """m² for pots that grow on: those there until they finish, and those to be made from when
    their lot strikes, or now where it has."""
    widths = facts.pot_widths()
    total = np.zeros(horizon.weeks)
    for n, lot in enumerate(known):
        width = widths.get(lot.direct_pot_size or lot.pot_size or found.to_come.pots[n].size, 0.0)
        stuck = horizon.of(lot.stuck_on)
        last = horizon.of(lot.stuck_on + timedelta(days=round(float(found.finished.days[n, 1]))))
        total[max(stuck, 0) : max(last, 0) + 1] += area_m2(width) * lot.pots_growing
        if cells := int(found.to_come.cells[n]):
            strikes = lot.stuck_on + timedelta(days=round(float(found.struck.days[n, 1])))
            first = 0 if lot.struck_on else max(horizon.of(strikes) + 1, 0)
            total[first : max(last, first) + 1] += area_m2(width) * cells
    return total


def _minutes(horizon: Horizon, known: Sequence[Facts]) -> Floats:
    """Minutes of the sticking that is planned in sessions; what should be done by now is this
    week's."""
    minutes, total = pace(), np.zeros(horizon.weeks)
    lots = Lot.objects.filter(pk__in=[lot.pk for lot in known], stuck_on__isnull=True)
    planned = set(lots.values_list("pk", flat=True))
    for lot in known:
        week = horizon.of(lot.stuck_on)
        if lot.pk in planned and week < horizon.weeks:
            total[week] += lot.units * lot.pieces_per_unit * minutes[lot.method]
    return total
