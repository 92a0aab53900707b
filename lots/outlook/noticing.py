"""What recent outcomes ask: did something change? They lie to one side of the forecasts made at
sticking, more than chance explains."""

import logging
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np

from lots.forecast import shifts
from lots.forecast.arrays import Floats
from lots.forecast.bands import Z90
from lots.models import Fit
from lots.outlook.rows import taken
from lots.outlook.verification import Told, outcomes

# Days back to lots that are looked at: what changed before has long been learned.
RECENT = 365

log = logging.getLogger(__name__)


class Noticed(NamedTuple):
    """Of the `lots` stuck since a day whose bands are over, `below` struck or finished sooner than
    was as likely as not, or took less; `low` says whether all in all they lie to that side."""

    stage: str
    since: date
    lots: int
    below: int
    low: bool

    @property
    def to_that_side(self) -> int:
        """How many of the lots lie to the side to which they lie all in all."""
        return self.below if self.low else self.lots - self.below


def notice(stages: Mapping[str, Sequence[Told]], today: date) -> list[Noticed]:
    """What is to be asked of the outcomes that were `told`, at most once a stage; nothing of lots
    stuck up to the day on which somebody last answered."""
    answered = Fit.objects.values_list("answered_on", flat=True).first()
    first = max(today - timedelta(days=RECENT), answered or date.min)
    found = []
    for stage, over in stages.items():
        recent = [of for of in over if of.lot.stuck_on > first]
        days = np.array([of.lot.stuck_on.toordinal() for of in recent], dtype=np.intp)
        how_far = _of_take(recent) if stage == "take" else _of_days(recent, stage)
        shift = shifts.find(days, how_far, _starts(days))
        if shift:
            since = date.fromordinal(shift.since)
            found.append(Noticed(stage, since, shift.lots, shift.below, shift.score < 0))
    return found


def asked() -> list[Noticed]:
    """What was noticed with the newest fit and nobody has answered since."""
    row = Fit.objects.values_list("noticed", "answered_on").first()
    try:
        found = load(row[0]) if row else []
    except Exception:  # whatever is wrong with it: it is made anew
        log.exception("What was noticed can't be read; it is made anew.")
        return []
    return [of for of in found if row[1] is None or of.since > row[1]]


def answer(day: date) -> None:
    """Somebody said on a day whether something changed: of lots stuck by then it is not asked
    again."""
    Fit.objects.update(answered_on=day)


def dump(found: Iterable[Noticed]) -> list[dict[str, Any]]:
    """As dictionaries, fit for JSON."""
    return [of._asdict() | {"since": of.since.isoformat()} for of in found]


def load(data: Iterable[dict[str, Any]]) -> list[Noticed]:
    """What `dump` made the data of."""
    return [Noticed(**row | {"since": date.fromisoformat(row["since"])}) for row in data]


def _starts(days: np.ndarray) -> np.ndarray:
    """The first day of sticking in each month: ordinal days."""
    firsts = {}
    for day in sorted(map(int, days)):
        firsts.setdefault(date.fromordinal(day).replace(day=1), day)
    return np.array(list(firsts.values()), dtype=np.intp)


def _of_days(over: Sequence[Told], stage: str) -> Floats:
    return shifts.surprises(*outcomes(over, stage))


def _of_take(over: Sequence[Told]) -> Floats:
    """(n,) how far the shares that took lie from what was to be expected on average: takes are
    skewed, and most lots lie above the middle of their band."""
    rows = [
        (row.take_mean, row.take_p10, row.take_p90, taken(lot) / lot.units, lot.units)
        for lot, row in over
    ]
    mean, p10, p90, share, units = np.array(rows, dtype=float).reshape(-1, 5).T
    half = 0.5 / units  # whole numbers of units
    sd = np.maximum((p90 - p10) / (2 * Z90), half)
    return shifts.surprises(mean, sd, share - half, share + half)
