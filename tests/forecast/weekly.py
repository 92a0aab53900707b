"""Pots by week, forecast and held against what came."""

import numpy as np

from lots.forecast import arrivals, durations, takes, weeks
from lots.forecast.arrays import Flags
from lots.forecast.durations import Fit
from lots.forecast.lotrows import Lots, pick
from tests.forecast.simulate import SPREAD, Nursery, pot_days


def weeks_in_band(of: Nursery, lots: Lots, fit: Fit, seed: int, as_of: int) -> Flags:
    """Whether the pots that finish in a week, by kind, came inside their band, twelve weeks ahead
    of a day, from lots that are growing or not yet struck. `lots` of the nursery, as the `fit` of
    days to finished takes them."""
    rng = np.random.default_rng(seed)
    pots = pot_days(of, rng)
    looked = np.maximum(np.floor((as_of - of.stuck_on) / of.check_gap) * of.check_gap, 0)
    done = np.array([(d <= at).sum() for d, at in zip(pots, looked, strict=True)])
    going = (of.stuck_on < as_of) & (done < of.taken)
    # Those struck are counted; of the others, what the book says of their kind is expected.
    known = going & (of.struck <= looked)
    rows = pick(lots, going)
    takes_fit = takes.fit(
        pick(of.take_lots, of.stuck_on < as_of - 60),
        *[values[of.stuck_on < as_of - 60] for values in (of.units, of.taken, of.taken)],
    )
    pmf = takes.units_pmf(takes.predict(takes_fit, pick(of.take_lots, going)), of.units[going])
    units = np.where(
        known[going], of.taken[going], takes.units_at(pmf, rng.uniform(size=(400, len(pmf))))
    )
    half_there = np.where(2 * done >= of.taken, looked, np.inf)[going]
    after = np.where(np.isinf(half_there), looked[going], 0)
    days = durations.draw(fit, rows, 400, rng, after)
    to_come = np.maximum(units - done[going], 0)
    nodes = arrivals.nodes(durations.predict(fit, rows), after, np.full(len(after), np.inf))
    begun, at = done[going].astype(float), looked[going].astype(float)
    told = arrivals.condition_on_first_pots(nodes, begun, begun + to_come.mean(axis=0), at, SPREAD)
    days = arrivals.move_by_rank(days, nodes, told)
    _, key = np.unique(rows.group, return_inverse=True)
    edges = (as_of - of.stuck_on[going])[:, None] + 7.0 * np.arange(13)
    standing = weeks.Growing(looked[going], edges, key)
    counts = weeks.finishing(days, to_come, standing, SPREAD, rng)
    band = weeks.summary(counts)
    came = np.zeros(band.mean.shape)
    for row, lot in enumerate(np.flatnonzero(going)):
        due = pots[lot][pots[lot] > looked[lot]]
        week = np.maximum(np.floor((due - edges[row, 0]) / 7), 0).astype(int)
        np.add.at(came[key[row]], week[week < 12], 1)
    expected = band.mean >= 1
    return ((came >= band.p10) & (came <= band.p90))[expected]
