"""Facts of lots as the arrays that `lots.forecast` works on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from lots.forecast import durations, handbook, takes
from lots.forecast.arrays import Floats, Ints, Keys
from lots.forecast.lotrows import CROP, PLANT, USUAL_POT_CM, Lots
from lots.models import CropGroup, Method, Stage
from lots.models.place import PARTS
from lots.outlook.changes import Change, told
from lots.outlook.facts import Facts

# A tug test of the whole lot says all of its take once it is so much older than the lot was when
# half had struck: what has not rooted by then does not (common practice, no source).
SETTLED = 1.6


@dataclass(frozen=True, slots=True)
class Interval:
    """(n,) each: not there at `low` days after sticking, there at `high`."""

    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class TakeBounds:
    """(n,) each: between `least` and `most` of `units` take. Of all that were `stuck`, more than
    `units` where only a sample was looked at, `least` to `ceiling` take."""

    units: Ints
    least: Ints
    most: Ints
    stuck: Ints
    ceiling: Ints


@dataclass(frozen=True, slots=True)
class Rows:
    """n lots: what is to be expected of them by the handbook, and what was seen.

    struck_informs, finished_informs: which lots say something about the time it takes; one that
    died before it got there does not, however long it was looked at.
    """

    struck: Lots
    finished: Lots
    take: Lots
    struck_interval: Interval
    finished_interval: Interval
    take_bounds: TakeBounds
    struck_informs: np.ndarray
    finished_informs: np.ndarray


def group_key(facts: Facts) -> str:
    return f"{facts.group}/{facts.method}"


def cell_key(facts: Facts) -> str:
    return f"{facts.variety}/{facts.method}"


@lru_cache(maxsize=1000)
def expectation(roots_like: str, cut_like: str, part: str) -> handbook.Expectation:
    """The handbook's row that forecasts lean on."""
    return handbook.expect(roots_like, cut_like, part)


def row_of(group: CropGroup, method: Method) -> handbook.Expectation:
    """The handbook's row that the forecasts of lots of a crop group, by a method, lean on."""
    return expectation(group.roots_like, method.cut_like, method.source_part)


def rows_of(lots: Sequence[Facts], usual: "UsualPots", changes: Sequence[Change] = ()) -> Rows:
    """The arrays of lots; a lot whose pot isn't known goes into the usual one. `changes` of the
    nursery touch the lots stuck from their day on."""
    expected = [expectation(lot.roots_like, lot.cut_like, lot.source_part) for lot in lots]
    days = [lot.start.timetuple().tm_yday if lot.start else np.nan for lot in lots]
    common = {
        "group": np.array([group_key(lot) for lot in lots], dtype=np.str_),
        "variety": np.array([str(lot.variety) for lot in lots], dtype=np.str_),
        "day_of_year": np.array(days, dtype=float),
        "pot_cm": np.array([_pot(lot, usual) for lot in lots], dtype=float),
        "pot_var": np.array([0.0 if lot.pot_cm else usual.scatter for lot in lots]) ** 2,
        "late": np.zeros(len(lots)),
        "late_var": np.zeros(len(lots)),
        "moved": np.zeros(len(lots)),
        "day": np.array([lot.start.toordinal() if lot.start else np.nan for lot in lots], float),
    }
    at_first, grown = ([getattr(lot, name) for lot in lots] for name in ("first_place", "grown_at"))
    done = _done(lots)
    own = {
        CROP: np.array([str(lot.group) for lot in lots], np.str_),
        PLANT: np.array([str(lot.plant or "") for lot in lots], np.str_),
    }
    groups = np.array([lot.group for lot in lots], dtype=int)

    def traits(names: Sequence[str | None]) -> dict[str, Keys]:
        places = _places(names)
        return own | done | places | told(changes, common["day"], groups, places["house"])

    common["traits"] = traits(grown)
    # A flat's cells strike, or fail, before they meet their pots.
    direct = np.array([lot.direct for lot in lots], dtype=bool)
    in_cells = {
        "pot_cm": np.where(direct, common["pot_cm"], np.nan),
        "pot_var": np.zeros(len(lots)),
        "traits": traits(at_first),
    }
    dead = np.array([_died(lot) for lot in lots], dtype=bool)
    struck = _interval(lots, "struck")
    finished = _interval(lots, "finished")
    return Rows(
        struck=Lots(**common | in_cells, **_ranges([row.struck for row in expected])),
        finished=Lots(**common, **_ranges([row.finished for row in expected])),
        take=Lots(**common | in_cells, **_ranges([row.take for row in expected])),
        struck_interval=struck,
        finished_interval=finished,
        take_bounds=_take_bounds(lots),
        struck_informs=_informs(struck, dead),
        finished_informs=_informs(finished, dead),
    )


def with_lateness(rows: Rows, struck: durations.Fit) -> Rows:
    """The same rows, with how late each lot struck, and what moves striking where and when it was
    stuck, told to the model of its finish."""
    seen = rows.struck_interval
    late = durations.lateness(struck, rows.struck, seen.low, seen.high)
    moved = durations.moved(struck, rows.struck)
    told = replace(rows.finished, late=late.mean, late_var=late.var, moved=moved)
    return replace(rows, finished=told)


@dataclass(frozen=True, slots=True)
class UsualPots:
    """The width in cm of the pots that lots of a cell mostly go into, and those of the nursery;
    for lots whose pot is not known yet. `scatter`: standard deviation of the log width of a lot's
    pots about its cell's."""

    of_cell: Mapping[str, float]
    of_all: float
    scatter: float


def usual_pots(lots: Sequence[Facts]) -> UsualPots:
    """Geometric means over the lots whose pots are known."""
    logs: dict[str, list[float]] = {}
    for lot in lots:
        if lot.pot_cm:
            logs.setdefault(cell_key(lot), []).append(float(np.log(float(lot.pot_cm))))
    everything = [width for widths in logs.values() for width in widths]
    middles = {cell: float(np.mean(widths)) for cell, widths in logs.items()}
    off = sum((width - middles[cell]) ** 2 for cell, widths in logs.items() for width in widths)
    # Each cell's middle is its own widths': that takes one lot from what they tell of scatter.
    telling = len(everything) - len(logs)
    return UsualPots(
        {cell: float(np.exp(middle)) for cell, middle in middles.items()},
        float(np.exp(np.mean(everything))) if everything else USUAL_POT_CM,
        float(np.sqrt(off / telling)) if telling else 0.0,
    )


def _pot(lot: Facts, usual: UsualPots) -> float:
    return float(lot.pot_cm or usual.of_cell.get(cell_key(lot), usual.of_all))


def done(medium: str, hormone: str, pieces: int, direct: bool) -> dict[str, str]:
    """What was done with a lot, by what it tells, each in a word; empty for what is usual."""
    return {
        "medium": medium.strip(),
        "hormone": hormone.strip(),
        "pieces": str(pieces) if pieces > 1 else "",
        "direct": "direct" if direct else "",
    }


def _done(lots: Sequence[Facts]) -> dict[str, Keys]:
    told = [done(lot.medium, lot.hormone, lot.pieces_per_unit, lot.direct) for lot in lots]
    names = done("", "", 1, False)
    return {name: np.array([of[name].casefold() for of in told], dtype=np.str_) for name in names}


def _places(names: Sequence[str | None]) -> dict[str, Keys]:
    """House and bench of places named like `B-2-07` or `house 3 12`: the first part, and all but
    the last; of a name of two parts the whole, of one part no more than that."""
    houses, benches = [], []
    for name in names:
        parts = PARTS.split((name or "").strip().casefold())
        houses.append(parts[0])
        benches.append(" ".join(parts[:-1] if len(parts) > 2 else parts if len(parts) == 2 else []))
    return {"house": np.array(houses, np.str_), "bench": np.array(benches, np.str_)}


def _ranges(ranges: Sequence[handbook.Range]) -> dict[str, Floats]:
    return {
        "expected_low": np.array([each.low for each in ranges], dtype=float),
        "expected_high": np.array([each.high for each in ranges], dtype=float),
    }


def _died(lot: Facts) -> bool:
    """Whether all of it was lost."""
    if lot.stage != Stage.CLOSED:
        return False
    return lot.pots_left == 0


def _interval(lots: Sequence[Facts], stage: str) -> Interval:
    low, high = np.zeros(len(lots)), np.full(len(lots), np.inf)
    for n, lot in enumerate(lots):
        after, on = getattr(lot, f"{stage}_after"), getattr(lot, f"{stage}_on")
        if after is not None:
            low[n] = max((after - lot.stuck_on).days, 0)
        if on is not None:
            # Seen on the day of sticking, or twice on one day: some time on that day.
            high[n] = max((on - lot.stuck_on).days, 1)
            low[n] = min(low[n], high[n] - 1)
    return Interval(low, high)


def _informs(seen: Interval, dead: np.ndarray) -> np.ndarray:
    there = np.isfinite(seen.high)
    return there | (~dead & (seen.low > 0))


def _take_bounds(lots: Sequence[Facts]) -> TakeBounds:
    def column(values) -> Ints:
        return np.fromiter(values, dtype=np.intp, count=len(lots))

    stuck = column(lot.units for lot in lots)
    lost = column(_lost(lot) for lot in lots)
    potted = column(lot.units_potted for lot in lots)
    # Once some are potted up, a tug test was of the others only.
    tested = column(0 if lot.units_potted else lot.tested for lot in lots)
    held = column(lot.held for lot in lots)
    done = np.fromiter((all_told(lot) for lot in lots), dtype=bool, count=len(lots))
    took = column(taken(lot) for lot in lots)
    units, least, most = takes.bounds(
        stuck, lost, tested, np.where(done, took, np.where(tested > 0, held, 0)), done
    )
    least = np.where(done, least, np.maximum(least, potted))
    return TakeBounds(units, least, most, stuck, np.where(done, most, stuck - lost))


def all_told(lot: Facts) -> bool:
    """Whether the book knows how many of its units took."""
    if lot.stuck_on is None:
        return False
    if _all_alive_held(lot):
        return True
    if lot.direct:
        return lot.pots_growing == 0
    return not lot.cells or lot.finished_on is not None or _whole_test_is_late(lot)


def taken(lot: Facts) -> int:
    """How many of its units took, of a lot that is all told. One that held and was lost before it
    was potted up did not, in cells as later."""
    if lot.direct or _all_alive_held(lot):
        return lot.units - _lost(lot)
    if lot.cells and lot.finished_on is None and _whole_test_is_late(lot):
        return lot.held
    return lot.units_potted


def _lost(lot: Facts) -> int:
    return lot.pots_lost if lot.direct else lot.cells_lost


def _all_alive_held(lot: Facts) -> bool:
    """Whether as many units held at the last tug test as are not lost by now: no more can take.
    What was lost since is taken for those that didn't hold."""
    return lot.held >= lot.units - _lost(lot)


def _whole_test_is_late(lot: Facts) -> bool:
    if lot.units_potted or not (lot.tested_on and lot.struck_on and lot.stuck_on):
        return False
    age, age_struck = (day - lot.stuck_on for day in (lot.tested_on, lot.struck_on))
    return lot.tested >= lot.cells and age >= SETTLED * age_struck
