"""What looks wrong: losses or lateness that chance seldom explains."""

import numpy as np
import scipy

from lots.forecast.arrays import Floats, Ints
from lots.forecast.durations import LogDays

# Rarer than this is worth a look.
SELDOM = 1 / 40


def chance_of_losses(pmf: Floats, units: Ints, lost: Ints) -> Floats:
    """(m,) probability that a lot of `units` in the end fails to take `lost` or more of them, by
    the `units_pmf` of such lots.

    An open lot may lose more yet, so its chance only overstates how usual the losses are.
    """
    left = (units - lost)[:, None]
    return np.asarray((pmf * (np.arange(pmf.shape[1]) <= left)).sum(axis=1))


def chance_of_lateness(days: LogDays, age: Floats) -> Floats:
    """(m,) probability that a lot isn't there yet at `age` days after sticking."""
    with np.errstate(divide="ignore"):
        return np.asarray(scipy.special.ndtr((days.mean - np.log(age)) / days.sd))
