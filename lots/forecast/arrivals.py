"""When the pots of a lot come that are not finished yet: days that are equally likely for the
lot's own T (half of its pots there), and from them a day for each pot.

A lot's T is held as `NODES` days, column a lot: the quantiles `SHARES` of all that is known of it.
What more is known moves them: its first pots, and that no cutting is a pot before it has struck and
grown on.
"""

import numpy as np
import scipy

from lots.forecast import durations
from lots.forecast.arrays import Floats, Ints
from lots.forecast.durations import LogDays

NODES = 25
SHARES = (np.arange(NODES) + 0.5) / NODES
# Which of them are there with a chance of 10, 50 and 90 in 100.
BAND = (2, 12, 22)
# Pots of a lot come in flushes: however many, they tell no more of its T than this many would.
TELLING = 10
# Steps between the earliest and the latest day of a lot's pots.
STEPS = 65
FARTHEST = 4.0  # standard deviations


def nodes(days: LogDays, after: Floats, before: Floats) -> Floats:
    """(NODES, m) days of each lot's T, given that it was not there `after` days after sticking,
    and was `before` days after."""
    return durations.quantile(days, SHARES[:, None], after, before)


def condition_on_first_pots(
    days: Floats, done: Floats, pots: Floats, looked: Floats, spread: float
) -> Floats:
    """The nodes of lots, moved towards what the part says that has finished: `done` of `pots` (m,)
    by the age `looked`.

    If a share f is there at age d, then log T is about log d - spread Φ⁻¹(f), with the error of a
    quantile of so many pots; each node is weighed by how well it agrees.
    """
    out = days.copy()
    for lot in np.flatnonzero((done > 0) & (looked > 0)):
        share = (done[lot] + 0.5) / (pots[lot] + 1)
        z = float(scipy.special.ndtri(share))
        density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
        telling = min(float(pots[lot]), TELLING)
        error = spread * np.sqrt(share * (1 - share) / telling) / density
        log_days = np.log(days[:, lot])
        off = 0.5 * ((log_days - np.log(looked[lot]) + spread * z) / error) ** 2
        weight = np.exp(off.min() - off)
        below = (np.cumsum(weight) - weight / 2) / weight.sum()
        out[:, lot] = np.exp(np.interp(SHARES, below, log_days))
    return out


def move_by_rank(draws: Floats, before: Floats, after: Floats) -> Floats:
    """(k, m) draws of lots' T made with the nodes `before`, as they are by the nodes `after`: each
    draw keeps its rank, so that lots go on moving together."""
    out = draws.copy()
    for lot in np.flatnonzero((before != after).any(axis=0)):
        old, new = np.log(before[:, lot]), np.log(after[:, lot])
        at = np.log(draws[:, lot])
        beyond = np.maximum(at - old[-1], 0.0)
        if old[0] == new[0]:  # else something keeps the earliest from being earlier
            beyond += np.minimum(at - old[0], 0.0)
        out[:, lot] = np.exp(np.interp(at, old, new) + beyond)
    return out


def pot_days(days: Floats, after: float, pots: int, spread: float) -> Floats:
    """(pots,) days after sticking on which a lot's pots are expected, the first one first: single
    pots scatter about T, whose nodes are `days` (NODES,), and none was there `after` days after
    sticking. Where even the last should be there by then, they come at once."""
    middle, seen = np.log(days), np.log(max(after, 0.5))
    least = max(float(middle.min()) - FARTHEST * spread, seen)
    most = max(float(middle.max()), seen) + FARTHEST * spread
    grid = np.linspace(least, most, STEPS)
    there = scipy.special.ndtr((grid[:, None] - middle) / spread)
    before = scipy.special.ndtr((seen - middle) / spread)
    left = np.maximum(1 - before, np.finfo(float).tiny)
    come = np.where(before > 1 - 1e-9, 1.0, (there - before) / left).mean(axis=1)
    return np.asarray(np.exp(np.interp((np.arange(pots) + 0.5) / pots, come, grid)))


def by_week(days: Ints) -> list[tuple[int, int]]:
    """Days as ordinals of dates, in order: for each ISO week the middle one of its days, and how
    many they are."""
    _, first, counts = np.unique(week(days), return_index=True, return_counts=True)
    middle = days[first + (counts - 1) // 2]
    return [(int(day), int(count)) for day, count in zip(middle, counts, strict=True)]


def week[Day: (int, Ints)](day: Day) -> Day:
    """The number of an ISO week by the ordinal of a day: the first ordinal was a Monday."""
    return (day - 1) // 7
