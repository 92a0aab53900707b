"""How good the forecasts at sticking were: held against what then came."""

import logging
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
import scipy

from lots import formats
from lots.forecast.arrays import Floats
from lots.forecast.bands import Z90
from lots.models import Fit, Forecast, Stage
from lots.outlook.facts import Facts
from lots.outlook.rows import all_told, taken

STAGES = ("struck", "finished")
FEW = 1000  # lots that are named to the database, rather than all read

log = logging.getLogger(__name__)


def half_year(day: date) -> date:
    """The first day of the half-year of a day."""
    return date(day.year, 1 if day.month < 7 else 7, 1)


class Frozen(NamedTuple):
    """A forecast at sticking. Names are those of `Forecast`."""

    lot: int
    basis: str
    hindsight: bool
    struck_p10: date
    struck_p50: date
    struck_p90: date
    finished_p10: date
    finished_p50: date
    finished_p90: date
    take_mean: float
    take_p10: float
    take_p90: float
    take_p10_inside: float
    take_p90_inside: float

    def days(self, stage: str) -> tuple[date, date, date]:
        """The days of a stage with a chance of 10, 50 and 90 in 100."""
        start = self._fields.index(f"{stage}_p10")
        return self[start : start + 3]


# What brings kept tallies of an older format forward (see `lots.formats`).
STEPS: tuple[formats.Step, ...] = (
    lambda rows: {"format": 2, "tallies": rows},
    # The second didn't know when lots were stuck.
    lambda data: {"format": 3, "tallies": [row | {"half": ""} for row in data["tallies"]]},
)


@dataclass(frozen=True, slots=True)
class BandHits:
    """Of `count` forecasts of one kind `hits` held what came inside their central 80 %, one whose
    outcome is known only to lie between two looks in part. stage: struck, finished or take;
    `hindsight` of them were worked out later; `half` is the first day (ISO 8601) of the half-year
    in which they were stuck, or '' where that wasn't kept."""

    stage: str
    group: str
    basis: str
    half: str
    hits: float
    count: int
    hindsight: int


class Told(NamedTuple):
    """A lot and its forecast at sticking, which can be held against each other."""

    lot: Facts
    row: Frozen


def told(known: Sequence[Facts], today: date) -> dict[str, list[Told]]:
    """By stage, the forecasts at sticking that can be held against what came.

    A lot is judged once its band is over: counting each lot as soon as it gets there would count
    the quick ones first. One that died before it got there, and one that nobody has looked at
    since, has no outcome.
    """
    lots = {lot.pk: lot for lot in known}
    rows = Forecast.objects.filter(moment=Forecast.Moment.STICKING, lot__stuck_on__isnull=False)
    if len(lots) < FEW:
        rows = rows.filter(lot__in=lots)
    frozen = [
        Told(lots[row[0]], Frozen(*row))
        for row in rows.values_list(*Frozen._fields)
        if row[0] in lots
    ]
    found = {
        stage: [of for of in frozen if _is_over(of.row.days(stage)[2], of.lot, stage, today)]
        for stage in STAGES
    }
    found["take"] = [of for of in frozen if all_told(of.lot) and of.row.finished_p90 < today]
    return found


def verify(stages: Mapping[str, Sequence[Told]]) -> list[BandHits]:
    """What was `told`, by stage, crop group, basis and half-year."""
    kinds: dict[tuple[str, ...], list[tuple[float, bool]]] = defaultdict(list)
    for stage, over in stages.items():
        inside = map(_take_inside, over) if stage == "take" else _inside(over, stage)
        for (lot, row), hit in zip(over, inside, strict=True):
            kinds[stage, *_kind(lot, row)].append((float(hit), row.hindsight))
    return [
        BandHits(*kind, sum(hit for hit, _ in hits), len(hits), sum(late for _, late in hits))
        for kind, hits in sorted(kinds.items())
    ]


def _kind(lot: Facts, row: Frozen) -> tuple[str, str, str]:
    """Crop group, basis and half-year by which a lot is counted."""
    return lot.group_name, row.basis, half_year(lot.stuck_on).isoformat()


def _take_inside(of: Told) -> float:
    """How much of the number of units that took lies inside its band. One on an edge counts for
    the part of that edge that does; a band of a single number for what both leave of it."""
    lot, row = of
    low, high = round(row.take_p10 * lot.units), round(row.take_p90 * lot.units)
    if not low <= taken(lot) <= high:
        return 0.0
    if low == high:
        # Whole, where the parts weren't kept.
        return row.take_p10_inside + row.take_p90_inside - 1 or 1.0
    return {low: row.take_p10_inside, high: row.take_p90_inside}.get(taken(lot), 1.0)


def _is_over(end: date, lot: Facts, stage: str, today: date) -> bool:
    """Whether the band that ends at `end` is over, and the lot known to be there or not by then."""
    if end >= today:
        return False
    if getattr(lot, f"{stage}_on"):
        return True
    after = getattr(lot, f"{stage}_after")
    return lot.stage != Stage.CLOSED and after is not None and after >= end


class Outcomes(NamedTuple):
    """What came of n forecasts of a stage, (n,) each: logarithms of the days with a chance of 50
    in 100, their standard deviations, and the logarithms of the days of the last look before it
    came and of the first look after."""

    middle: Floats
    sd: Floats
    low: Floats
    high: Floats


def outcomes(over: Sequence[Told], stage: str) -> Outcomes:
    """The forecasts of a stage of days, and what came of them."""
    days = []
    for lot, row in over:
        after, on = getattr(lot, f"{stage}_after"), getattr(lot, f"{stage}_on")
        said = [max((day - lot.stuck_on).days, 1) for day in row.days(stage)]
        high = max((on - lot.stuck_on).days, 1) if on else np.inf
        low = min((after - lot.stuck_on).days, high - 1) if after else 0
        days.append((*said, low, high))
    p10, p50, p90, low, high = np.array(days, dtype=float).reshape(-1, 5).T
    # Days are whole: a band of a single day still has a width.
    sd = np.maximum(np.log(p90 / p10), 1 / p50) / (2 * Z90)
    with np.errstate(divide="ignore"):
        return Outcomes(np.log(p50), sd, np.log(low), np.log(high))


def _inside(over: Sequence[Told], stage: str) -> Floats:
    """How much of each outcome lies inside the band of its forecast, 0 to 1.

    Somebody looked at `low` and at `high`, and by the forecast itself it came in between with some
    probability: of that, the part inside the band counts. Right forecasts so come to 8 in 10,
    however seldom one looks (Czado, Gneiting and Held 2009, Biometrics 65:1254-1261).
    """
    middle, sd, low, high = outcomes(over, stage)
    below, above = scipy.special.ndtr((np.stack([low, high]) - middle) / sd)
    width = np.maximum(above - below, np.finfo(float).tiny)
    inside = np.maximum(np.minimum(above, 0.9) - np.maximum(below, 0.1), 0.0) / width
    # So far out that the forecast gave it no chance at all.
    return np.where(above - below > 0, np.minimum(inside, 1.0), 0.0)


def dump(tallies: Iterable[BandHits]) -> dict:
    """As dictionaries, fit for JSON."""
    return {"format": len(STEPS) + 1, "tallies": [asdict(tally) for tally in tallies]}


def load(data: dict | list) -> list[BandHits]:
    """What `dump`, of this version or an older one, made the data of. Raises ValueError, KeyError
    or TypeError for what it didn't."""
    return [BandHits(**row) for row in formats.bring_forward(data, STEPS)["tallies"]]


def newest() -> list[BandHits]:
    """What was judged with the newest fit; nothing while there is none that can be read."""
    data = Fit.objects.values_list("judged", flat=True).first()
    try:
        return load(data or [])
    except Exception:  # whatever is wrong with it: it is made anew
        log.exception("What was judged can't be read; it is made anew.")
        return []
