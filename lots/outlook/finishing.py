"""How pots finish inside a lot, as the book shows it: how far they scatter, how many of those
potted up get there, and how much of the way they make in their pots."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from django.utils import timezone

from lots.forecast import weeks
from lots.models import RECORDS, Finish
from lots.outlook import facts
from lots.outlook.facts import Facts

# The newest so many finished lots say it all, however large the book.
MOST_LOTS = 400
# Before any is on record, 19 in 20 pots get there (common practice, no source), which weighs as
# much as so many pots on record.
SURVIVE, WEIGHT = 0.95, 40
# Before any is on record, a lot makes six tenths of its way from striking to finish in its pots
# (common practice, no source), which weighs as much as so many lots on record.
IN_POT, IN_POT_SD, IN_POT_WEIGHT = float(np.log(0.6)), 0.15, 4


def survival(known: Sequence[Facts]) -> float:
    """The share of pots made that finish: the others are lost while they grow on."""
    done = [lot for lot in known if lot.finished_on and not lot.direct and not lot.pots_growing]
    made, lost = sum(lot.pots_made for lot in done), sum(lot.pots_lost for lot in done)
    return (SURVIVE * WEIGHT + made - lost) / (WEIGHT + made)


@dataclass(frozen=True, slots=True)
class InPot:
    """How much of its way from striking to finish a lot makes in its pots: mean and standard
    deviation of the logarithm of that share of the days."""

    mean: float
    sd: float


def in_pot(known: Sequence[Facts]) -> InPot:
    """From the lots that were potted up from cells and are finished."""
    shares = np.array(
        [
            (lot.finished_on - lot.potted_on).days / (lot.finished_on - lot.struck_on).days
            for lot in known
            if lot.finished_on
            and lot.struck_on
            and lot.potted_on
            and lot.struck_on <= lot.potted_on < lot.finished_on
        ],
        dtype=float,
    )
    logs = np.log(shares)
    mean = (IN_POT * IN_POT_WEIGHT + logs.sum()) / (IN_POT_WEIGHT + len(logs))
    off = IN_POT_WEIGHT * IN_POT_SD**2 + ((logs - mean) ** 2).sum()
    return InPot(float(mean), float(np.sqrt(off / (IN_POT_WEIGHT + len(logs)))))


def spread(known: Sequence[Facts], day: date | None = None) -> float:
    """Standard deviation of log days of single pots about their lot's, of lots as they are known
    at the end of a day, if one is given. Raises NoConvergence."""
    done = [lot for lot in known if lot.finished_on]
    newest = sorted(done, key=lambda lot: (lot.finished_on, lot.pk), reverse=True)[:MOST_LOTS]
    growing = {lot.pk: lot.pots_growing for lot in newest}
    looks, finished = _looks({lot.pk: lot.stuck_on for lot in newest}, day)
    keys, low, high, pots = [], [], [], []
    for lot, days in looks.items():
        before = 0.0
        for age in sorted(days):
            if count := finished.get((lot, age)):
                keys.append(lot)
                low.append(before)
                high.append(age)
                pots.append(count)
            before = age
        if growing[lot]:
            keys.append(lot)
            low.append(before)
            high.append(np.inf)
            pots.append(growing[lot])
    if not keys:
        return float(weeks.SPREAD[0])
    return weeks.fit_spread(
        np.array(keys, dtype=np.str_), *(np.array(part, dtype=float) for part in (low, high, pots))
    )


def _looks(
    lots: dict[int, date], day: date | None
) -> tuple[dict[int, set[float]], dict[tuple[int, float], int]]:
    """The ages at which somebody handled each lot, and the pots that finished by lot and age, from
    the records up to the end of a day, if one is given."""
    zone = timezone.get_current_timezone()
    looks: dict[int, set[float]] = defaultdict(set)
    finished: dict[tuple[int, float], int] = defaultdict(int)
    for kind, model in RECORDS.items():
        rows = model.objects.filter(lot__in=lots, voided_at=None)
        if day:
            rows = rows.filter(observed_at__lt=facts.end_of(day))
        names = ("lot", "observed_at", "pots" if model is Finish else "pk")
        for lot, at, number in rows.values_list(*names) if kind != "move" else ():
            age = max(float((at.astimezone(zone).date() - lots[lot]).days), 0.5)
            looks[lot].add(age)
            if model is Finish:
                finished[lot, age] += number
    return looks, finished
