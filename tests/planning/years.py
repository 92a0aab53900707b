"""Years of invented nurseries that follow the plan: what came of it, by a truth that the fit has
never seen, and what dividing by the average take would have come to."""

from dataclasses import dataclass
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
from scipy.stats import norm

from lots.forecast import durations, takes
from lots.forecast.lotrows import pick
from lots.planning import enough, howmany
from lots.planning.howmany import Kind
from lots.supply.plan.horizon import Horizon
from lots.supply.plan.wants import Series, Wanted
from tests.forecast.simulate import SPREAD, nursery, seen

AS_OF = 730
TODAY = date(2026, 11, 23)  # a Monday
WEEKS = 26
SIZES = [8, 20, 45, 100, 180]
CONFIDENCES = [0.8, 0.9, 0.9, 0.95]
AGAIN = 4  # weeks between the times that pots are wanted


@dataclass
class Outcome:
    """A target: pots, the chance asked, own lots behind the take, units that the plan stuck and
    that dividing would, and whether it was met by each."""

    pots: int
    sure: float
    behind: int
    units: int
    divided: int
    met: bool
    met_by: dict[float, bool]  # by so many times what dividing says, stuck on the same day


FACTORS = [round(1 + 0.02 * n, 2) for n in range(51)]


def year(seed: int, family: str, targets: int = 24, times: int = 1) -> list[Outcome]:
    """The targets of a year, each wanted so many times, of kinds drawn by chance."""
    of = nursery(seed, family)
    rng = np.random.default_rng(1000 + seed)
    known = of.stuck_on < AS_OF
    low, high = seen(of, of.finished, AS_OF)
    days = durations.fit(pick(of.finished_lots, known), low[known], high[known])
    done = of.stuck_on < AS_OF - 60
    fit = takes.fit(pick(of.take_lots, done), of.units[done], of.taken[done], of.taken[done])
    some = rng.choice(np.flatnonzero(~known), targets, replace=False)
    take = takes.predict(fit, pick(of.take_lots, some))
    finished = durations.predict(days, pick(of.finished_lots, some))
    found: list[Outcome] = []
    for n, lot in enumerate(some):
        kind = Kind(
            float(take.mean[n]),
            float(take.sd[n]),
            take.rho,
            1,
            1,
            1.0,
            float(finished.mean[n]),
            float(finished.sd[n]),
            SPREAD,
        )
        truth = float(of.rate[lot]), float(of.finished_mean[lot]), of.finished_sigma
        found += _series(kind, truth, int(take.group_lots[n]), times, rng)
    return found


def _series(
    kind: Kind, truth: tuple, behind: int, times_in_all: int, rng: np.random.Generator
) -> list[Outcome]:
    pots, sure = int(rng.choice(SIZES)), float(rng.choice(CONFIDENCES))
    needed = int(1.6 * np.exp(kind.log_days) + rng.integers(0, 60))
    first = TODAY + timedelta(days=needed)
    times = [first + timedelta(weeks=AGAIN * again) for again in range(times_in_all)]
    wants = [
        Wanted(SimpleNamespace(pk=n, pots=pots, wanted_by=day), sure) for n, day in enumerate(times)
    ]
    off = enough.common()
    # Long enough that the last can be stuck in it.
    weeks = max(WEEKS, (times[-1] - TODAY).days // 7)
    supply = np.zeros((len(off), len(times)), dtype=np.intp)
    series = Series(Horizon(TODAY, weeks), wants, supply, off, kinds=[kind] * (weeks + 1))
    series.work_out()
    lots = [want.assumed for want in wants]
    dividing = int(np.ceil(pots / howmany.mean_pot_chance(kind)))
    seed = int(rng.integers(2**31))
    planned = [[(series.horizon.last(week), units) for week, units in of.items()] for of in lots]
    met = _come(planned, times, pots, truth, seed, kind.rho)
    by_factor = {
        factor: _come(
            [[(day, int(np.ceil(factor * dividing))) for day, _units in of[:1]] for of in planned],
            times,
            pots,
            truth,
            seed,
            kind.rho,
        )
        for factor in FACTORS
    }
    return [
        Outcome(
            pots,
            sure,
            behind,
            sum(lots[n].values()),
            dividing,
            met[n],
            {factor: by_factor[factor][n] for factor in FACTORS},
        )
        for n in range(len(times))
    ]


def _come(lots, times, pots, truth, seed, rho) -> list[bool]:
    """Whether the pots were there each time, what one leaves serving the next."""
    rng = np.random.default_rng(seed)
    rate, log_days, sigma = truth
    precision = 1 / max(rho, 1e-4) - 1
    there = np.zeros(len(times), dtype=int)
    for of in lots:
        own = rng.beta(rate * precision, (1 - rate) * precision)
        noise, rank = rng.standard_normal(2)
        for stuck, units in of:
            for n, day in enumerate(times):
                left = (day - stuck).days
                if left > 0:
                    z = (np.log(left) - log_days - sigma * noise) / SPREAD
                    chance = own * norm.cdf(z)
                    spread = np.sqrt(units * chance * (1 - chance))
                    there[n] += int(np.clip(np.rint(units * chance + rank * spread), 0, units))
    met, used = [], 0
    for n in range(len(times)):
        met.append(bool(there[n] - used >= pots))
        used += min(max(there[n] - used, 0), pots)
    return met
