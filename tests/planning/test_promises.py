"""Whether what is said of how many to stick is kept: held against what came of an invented
nursery's lots, which the fit has never seen."""

from functools import cache

import numpy as np
import pytest

from lots.forecast import durations, takes
from lots.forecast.lotrows import pick
from lots.planning import howmany
from lots.planning.howmany import Kind
from tests.forecast.simulate import SPREAD, nursery, pot_days, seen

# In one process, which fits each nursery once.
pytestmark = pytest.mark.xdist_group("nurseries")

AS_OF = 730
CONFIDENCE = 0.9
# As many times the median days: time to spare, and a day that not all lots meet.
TIMES = [2.0, 1.3, 1.1]
NURSERIES = [(1, "lognormal"), (2, "weibull"), (3, "gamma")]
EACH = 3  # every so many lots are looked at


@cache
def lots_to_come(seed, family):
    """Of each: what is known of its kind on the day of the fit, its units, the days of its pots."""
    of = nursery(seed, family)
    known = of.stuck_on < AS_OF
    some = np.flatnonzero(~known)[::EACH]
    low, high = seen(of, of.finished, AS_OF)
    days = durations.fit(pick(of.finished_lots, known), low[known], high[known])
    finished = durations.predict(days, pick(of.finished_lots, some))
    done = of.stuck_on < AS_OF - 60
    fit = takes.fit(pick(of.take_lots, done), of.units[done], of.taken[done], of.taken[done])
    take = takes.predict(fit, pick(of.take_lots, some))
    pots = pot_days(of, np.random.default_rng(seed))
    given = zip(take.mean, take.sd, finished.mean, finished.sd, strict=True)
    kinds = [
        Kind(mean, sd, take.rho, 1, 1, 1.0, log_days, log_days_sd, SPREAD)
        for mean, sd, log_days, log_days_sd in given
    ]
    return list(zip(kinds, of.units[some], [pots[n] for n in some], strict=True))


@pytest.mark.parametrize("times", TIMES)
def test_as_many_as_asked_are_there_as_often_as_said(times):
    """Of each lot the largest number that was promised with this chance by a day: it was there in
    so many of all. Numbers are whole, so that promises are kept a little more often."""
    kept, said = [], []
    for which in NURSERIES:
        for kind, units, days in lots_to_come(*which):
            by = times * np.exp(kind.log_days)
            chances = howmany.chances(kind, by)
            promised = next(
                n for n in range(units, -1, -1) if chances.at_least(n, units) >= CONFIDENCE
            )
            if promised:
                kept.append((days <= by).sum() >= promised)
                said.append(chances.at_least(promised, units))
    assert len(kept) > 200
    error = 2.5 * np.sqrt(CONFIDENCE * (1 - CONFIDENCE) / len(kept))
    assert np.mean(kept) == pytest.approx(np.mean(said), abs=error)
