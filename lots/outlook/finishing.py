"""How pots finish inside a lot, as the book shows it: how far they scatter, and how many of those
potted up get there."""

from collections import defaultdict
from datetime import date

import numpy as np
from django.db.models import Sum
from django.utils import timezone

from lots.forecast import weeks
from lots.models import RECORDS, Finish, Lot

# The newest so many finished lots say it all, however large the book.
MOST_LOTS = 400
# Before any is on record, 19 in 20 pots get there (common practice, no source), which weighs as
# much as so many pots on record.
SURVIVE, WEIGHT = 0.95, 40


def survival() -> float:
    """The share of pots made that finish: the others are lost while they grow on."""
    done = Lot.objects.filter(direct_pot_size=None, finished_on__isnull=False, pots_growing=0)
    sums = done.aggregate(made=Sum("pots_made", default=0), lost=Sum("pots_lost", default=0))
    return (SURVIVE * WEIGHT + sums["made"] - sums["lost"]) / (WEIGHT + sums["made"])


def spread() -> float:
    """Standard deviation of log days of single pots about their lot's. Raises NoConvergence."""
    newest = Lot.objects.filter(finished_on__isnull=False).order_by("-finished_on", "-pk")
    lots = dict(newest.values_list("pk", "stuck_on")[:MOST_LOTS])
    growing = dict(Lot.objects.filter(pk__in=lots).values_list("pk", "pots_growing"))
    looks, finished = _looks(lots)
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


def _looks(lots: dict[int, date]) -> tuple[dict[int, set[float]], dict[tuple[int, float], int]]:
    """The ages at which somebody handled each lot, and the pots that finished by lot and age."""
    zone = timezone.get_current_timezone()
    looks: dict[int, set[float]] = defaultdict(set)
    finished: dict[tuple[int, float], int] = defaultdict(int)
    for kind, model in RECORDS.items():
        rows = model.objects.filter(lot__in=lots, voided_at=None)
        names = ("lot", "observed_at", "pots" if model is Finish else "pk")
        for lot, at, number in rows.values_list(*names) if kind != "move" else ():
            age = max(float((at.astimezone(zone).date() - lots[lot]).days), 0.5)
            looks[lot].add(age)
            if model is Finish:
                finished[lot, age] += number
    return looks, finished
