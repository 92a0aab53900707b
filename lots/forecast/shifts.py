"""Whether outcomes since some day lie to one side of their forecasts more than chance explains: a
sign that something changed.

Of the lots stuck since the first day of each month the surprises are added up (a cumulative sum,
Page 1954, Biometrika 41:100-115), and the sum is held against how far it goes by itself in a
nursery that stays as it is. Single forecasts err together, since they were made of the same lots:
their sum goes further than that of surprises that know nothing of each other.
"""

from typing import NamedTuple

import numpy as np
import scipy

from lots.forecast.arrays import Floats, Ints

# Lots that have to be seen before anything is said.
LEAST_LOTS = 8
# What the surprises of two lots have in common, and how far the sum has to go: in invented
# nurseries that stay as they are, so many that at most one year of 20 is asked for nothing
# (tests/forecast/test_shifts.py).
IN_COMMON = 0.04
FAR = 2.8
# A single outcome counts no more than this: a lot that went wrong tells nothing of the others.
MOST = 2.5


class Shift(NamedTuple):
    """Of `lots` stuck since ordinal day `since`, `below` came out below what was as likely as not;
    `score` is how far all of them lie to that side (below: negative), in standard deviations."""

    since: int
    lots: int
    below: int
    score: float


def surprises(middle: Floats, sd: Floats, low: Floats, high: Floats) -> Floats:
    """(n,) how far outcomes lie from the middles of their forecasts, in their standard deviations:
    the expected one, where all that is known is that it lies between `low` and `high`."""
    ends = (np.stack([low, high]) - middle) / sd
    below, above = np.clip(ends, -8, 8)
    # In the tail where more digits are.
    flip = below + above > 0
    below, above = np.where(flip, -above, below), np.where(flip, -below, above)
    inside = scipy.special.ndtr(above) - scipy.special.ndtr(below)
    density = (np.exp(-(below**2) / 2) - np.exp(-(above**2) / 2)) / np.sqrt(2 * np.pi)
    with np.errstate(invalid="ignore", divide="ignore"):
        expected = np.where(inside > 1e-12, density / inside, (below + above) / 2)
    return np.asarray(np.clip(np.where(flip, -expected, expected), -MOST, MOST))


def find(days: Ints, surprises: Floats, starts: Ints) -> Shift | None:
    """The shift since one of some days that is the least explained by chance; None where chance
    explains each. days: (n,) ordinal ones of sticking; surprises: (n,); starts: (m,) ordinal days
    since which lots are looked at together."""
    found = None
    for since in starts:
        told = surprises[days >= since]
        if len(told) < LEAST_LOTS:
            continue
        n = len(told)
        score = float(told.sum() / np.sqrt(n + IN_COMMON * n**2))
        if abs(score) >= FAR and (found is None or abs(score) > abs(found.score)):
            found = Shift(int(since), n, int((told < 0).sum()), score)
    return found
