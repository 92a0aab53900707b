"""When an invented nursery would be asked whether something changed: fitted anew every so many
days, each lot forecast by the last fit before it was stuck, and judged once its band is over."""

import numpy as np

from lots.forecast import durations, shifts, takes
from lots.forecast.bands import Z90
from lots.forecast.lotrows import pick
from tests.forecast.simulate import seen

YEAR, MONTH = 365, 30


def judged(of, stage: str, every: int):
    """(n,) surprises, nan for lots of the first year, and the days on which they are known."""
    n = len(of.stuck_on)
    surprises, over = np.full(n, np.nan), np.full(n, np.inf)
    for day in range(YEAR, int(of.stuck_on.max()), every):
        known, new = of.stuck_on < day, (of.stuck_on >= day) & (of.stuck_on < day + every)
        if new.any():
            tell = _take if stage == "take" else _days
            surprises[new], over[new] = tell(of, stage, day, known, new)
    return surprises, over


def _days(of, stage, day, known, new):
    lots, outcome = getattr(of, f"{stage}_lots"), getattr(of, stage)
    low, high = seen(of, outcome, day)
    fit = durations.fit(pick(lots, known), low[known], high[known])
    found = durations.predict(fit, pick(lots, new))
    low, high = seen(of, outcome, np.inf)
    with np.errstate(divide="ignore"):
        surprises = shifts.surprises(found.mean, found.sd, np.log(low[new]), np.log(high[new]))
    end = np.exp(found.mean + Z90 * found.sd)
    return surprises, of.stuck_on[new] + end + of.check_gap[new]


def _take(of, _stage, day, known, new):
    done = known & (of.stuck_on + of.finished < day)
    units, taken = of.units, of.taken
    fit = takes.fit(pick(of.take_lots, done), units[done], taken[done], taken[done])
    pmf = takes.units_pmf(takes.predict(fit, pick(of.take_lots, new)), units[new])
    mean = (pmf * np.arange(pmf.shape[1])).sum(axis=1)
    low, high = (takes.units_quantile(pmf, share) for share in (0.1, 0.9))
    sd = np.maximum((high - low) / (2 * Z90), 0.5)
    surprises = shifts.surprises(mean, sd, taken[new] - 0.5, taken[new] + 0.5)
    return surprises, of.stuck_on[new] + 1.2 * of.finished[new]


def asked(of, stages, every: int) -> dict[int, list[str]]:
    """Days, one a month from the second year on, and the stages that are asked about on each."""
    told = {stage: judged(of, stage, every) for stage in stages}
    months = of.stuck_on // MONTH
    found = {}
    for day in range(2 * YEAR, int(of.stuck_on.max()) + YEAR // 2, MONTH):
        found[day] = []
        for stage, (surprises, over) in told.items():
            some = np.isfinite(surprises) & (over < day) & (of.stuck_on > day - YEAR)
            _, first = np.unique(months[some], return_index=True)
            if shifts.find(of.stuck_on[some], surprises[some], of.stuck_on[some][first]):
                found[day].append(stage)
    return found
