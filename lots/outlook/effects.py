"""How large what lots have in common turned out: changes that were noted, what was done."""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import scipy

from lots.forecast import contributions, durations
from lots.forecast.arrays import Floats
from lots.forecast.bands import Z90

if TYPE_CHECKING:
    from lots.outlook.fits import Fits


class Range(NamedTuple):
    """The middle, and where the truth lies 8 times in 10."""

    middle: float
    low: float
    high: float


class Effect(NamedTuple):
    """What something does to the log days to a stage, or to the logit of the take: mean and
    standard deviation."""

    mean: float
    sd: float

    @property
    def more(self) -> float:
        """The chance that it makes the days, or the take, more and not less."""
        return float(scipy.special.ndtr(self.mean / self.sd))

    @property
    def times(self) -> Range:
        """Days as a multiple of what they were."""
        return Range(*map(float, np.exp(self._eta)))

    def taken(self, before: float) -> Range:
        """Share of units that take, where `before` did."""
        return Range(*map(float, scipy.special.expit(scipy.special.logit(before) + self._eta)))

    @property
    def _eta(self) -> Floats:
        return np.array([self.mean, self.mean - Z90 * self.sd, self.mean + Z90 * self.sd])


def of_word(fits: "Fits", name: str, word: str, against: str = "") -> dict[str, Effect]:
    """What a word of a trait does, less what another does ('' for none), by stage; without the
    stages of which no lot tells it yet."""
    struck = durations.effect(fits.struck, name, word, against)
    found = {
        "struck": struck,
        "finished": durations.effect(fits.finished, name, word, against, struck or (0.0, 0.0)),
        "take": contributions.effect(fits.take.known, fits.take.posterior, name, word, against),
    }
    return {stage: Effect(*of) for stage, of in found.items() if of}
