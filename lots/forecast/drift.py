"""How a nursery changes from quarter to quarter, whatever the season: a level of log days (or of
the logit of takes), which lots have by the day they were stuck.

The level at the turn of each quarter is a knot; between two it runs straight. From knot to knot it
takes independent steps (a random walk) and goes on in a direction that fades (a damped trend:
Gardner and McKenzie 1985, Management Science 31:1237-1246), so that a nursery that gets slower is
expected to get slower yet, for a while. How much of either there is the evidence says.
"""

import numpy as np

from lots.forecast.arrays import Floats
from lots.forecast.sparse import Sparse

QUARTER = 365.2425 / 4  # days
# Knots after the last lot, so that the level goes on, and its doubt grows, for lots to come.
AHEAD = 6
# How much of a direction is left after a quarter (from memory: damping of trends mostly comes out
# between 0.8 and 0.98 a step).
DAMPING = 0.7
# What the level may be at the first knot, in standard deviations: next to nothing, since the effect
# of the nursery stands for it.
AT_FIRST = 1e-3


def knots(days: Floats) -> tuple[float, int]:
    """The day of the first knot, and how many knots there are, for lots stuck on `days` (n,), nan
    for none; no knots for lots of a single quarter."""
    if not np.isfinite(days).any():
        return 0.0, 0
    first, last = float(np.nanmin(days)), float(np.nanmax(days))
    quarters = int(np.ceil((last - first) / QUARTER))
    return first, quarters + 1 + AHEAD if quarters > 1 else 0


def columns(days: Floats, first: float, count: int, apart: float = QUARTER) -> Sparse:
    """(n, count): how much of each knot is in the level of lots stuck on `days` (n,), finite; knots
    lie so many days `apart`."""
    if not count:
        return Sparse(np.zeros((len(days), 0), dtype=np.intp), np.zeros((len(days), 0)), 0)
    at = np.clip((days - first) / apart, 0, count - 1)
    before = np.minimum(np.floor(at).astype(np.intp), count - 2)
    share = at - before
    return Sparse(
        np.stack([before, before + 1], axis=1), np.stack([1 - share, share], axis=1), count
    )


def precision(count: int, walk: float, trend: float) -> Floats:
    """(count, count) prior precision of the knots: independent steps of standard deviation `walk`,
    and a direction a quarter of standard deviation `trend`, as long as nothing is known of it."""
    steps = np.tril(np.ones((count, count)), -1)
    apart = np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
    of_steps = walk**2 * np.eye(count) + trend**2 * DAMPING**apart
    return np.linalg.inv(steps @ of_steps @ steps.T + AT_FIRST**2 * np.eye(count))
