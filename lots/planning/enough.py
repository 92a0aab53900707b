"""Whether pots that are wanted are there in time, by joint draws of all lots that serve them.

Each lot of a plan is drawn on top of what is here and coming. In a draw all lots of a kind share
what is not known of its mean take, so that they do well or badly together; each has its own rate
and its own day beside that.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import scipy

from lots.forecast.arrays import Floats, Ints
from lots.planning.howmany import ALIKE, MOST_UNITS, TOLERANCE, Kind, pot_chance

DRAWS = 1000


class Lot(NamedTuple):
    """One lot in every draw: its rate's logit as of the mean `kind` says, (draws,), and by how many
    standard deviations its day is late, (draws,)."""

    rate: Floats
    late: Floats
    by_chance: Floats


def common(draws: int = DRAWS) -> Floats:
    """(draws,) by how many standard deviations the mean take of a kind lies off, in each draw."""
    return np.asarray(scipy.special.ndtri((np.arange(draws) + 0.5) / draws))


def lots(kind: Kind, off: Floats, count: int, rng: np.random.Generator) -> list[Lot]:
    """`count` lots of a kind, apart from each other but for what they have in common, `off`."""
    found = []
    for _lot in range(count):
        # Multiples of numbers by chance spread evenly, together with `off` and from lot to lot
        # (Kronecker's sequences: Niederreiter 1992, Random number generation, chapter 3).
        steps, start = rng.uniform(0.1, 0.9, 3), rng.uniform(size=3)
        even = (np.arange(len(off))[:, None] * steps + start) % 1
        rate = _rates(kind, off, np.clip(even[:, 0], 1e-9, 1 - 1e-9))
        late = scipy.special.ndtri(np.clip(even[:, 1], 1e-9, 1 - 1e-9))
        found.append(Lot(scipy.special.logit(rate), late, even[:, 2]))
    return found


def _rates(kind: Kind, off: Floats, rank: Floats) -> Floats:
    """(draws,) rates of one lot, by their rank among lots that share the mean."""
    mean = scipy.special.expit(kind.mean + kind.sd * off)
    if kind.rho < ALIKE:
        return np.asarray(mean)
    precision = 1 / kind.rho - 1
    rate = scipy.special.betaincinv(mean * precision, (1 - mean) * precision, rank)
    return np.asarray(np.clip(rate, 1e-12, 1 - 1e-12))


def share(lot: Lot, of: Kind, kind: Kind, days: float) -> Floats:
    """(draws,) the chance of a unit to be a pot finished so many days after sticking, for a lot
    drawn as of one kind and stuck as of another, of the same variety and method on another day."""
    if days <= 0:
        return np.zeros(len(lot.rate))
    rate = scipy.special.expit(lot.rate + kind.mean - of.mean)
    own = kind.log_days + kind.log_days_sd * lot.late
    in_time = 1.0 if np.isinf(days) else scipy.special.ndtr((np.log(days) - own) / kind.spread)
    return np.asarray(pot_chance(rate, kind) * kind.survival * in_time)


def reached(need: Ints, units: int, chance: Floats) -> float:
    """The chance, over the draws, that so many units make as many as each `need` (draws,)."""
    ok = np.where(need <= 0, 1.0, 0.0)
    may = (need > 0) & (need <= units)
    ok[may] = scipy.special.betainc(need[may], units - need[may] + 1, chance[may])
    return float(ok.mean())


def least_units(need: Ints, chance: Floats, confidence: float) -> int | None:
    """The fewest units that make what is needed in a draw with the asked chance; 0 where nothing
    is needed, None where no number will do."""
    confidence -= TOLERANCE
    if reached(need, 0, chance) >= confidence:
        return 0
    # Of ever more units the share that makes it is what each draw's chance is not zero in.
    if float(((need <= 0) | (chance > 1e-9)).mean()) < confidence:
        return None
    # Near enough first, the binomial as a normal, which costs a tenth; then step by step.
    units = _by_normal(need, chance, confidence)
    step = 1
    if reached(need, units, chance) >= confidence:
        low, high = units - step, units
        while low > 0 and reached(need, low, chance) >= confidence:
            low, high, step = low - step, low, 2 * step
        low = max(low, 0)
    else:
        low, high = units, units + step
        while reached(need, high, chance) < confidence:
            if high >= MOST_UNITS:
                return None
            low, high, step = high, min(high + step, MOST_UNITS), 2 * step
    while high - low > 1:
        middle = (low + high) // 2
        if reached(need, middle, chance) >= confidence:
            high = middle
        else:
            low = middle
    return high if high <= MOST_UNITS else None


def _by_normal(need: Ints, chance: Floats, confidence: float) -> int:
    """About the fewest units, by the normal distribution; MOST_UNITS where those don't do."""
    spread = np.sqrt(np.maximum(chance * (1 - chance), 1e-12))

    def enough(units: int) -> bool:
        z = (units * chance - need + 0.5) / (spread * np.sqrt(units))
        told = np.where(need <= 0, 1.0, np.where(need > units, 0.0, scipy.special.ndtr(z)))
        return bool(told.mean() >= confidence)

    low, high = 0, max(int(need.max()), 1)
    while not enough(high):
        if high >= MOST_UNITS:
            return MOST_UNITS
        low, high = high, min(2 * high, MOST_UNITS)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def made(lot: Lot, units: int, chance: Sequence[Floats]) -> list[Ints]:
    """(draws,) pots there on each of some days, of one lot of so many units, given the chance that
    a unit is there by each day. The count is at the same rank on every day."""
    z = scipy.special.ndtri(np.clip(lot.by_chance, 1e-9, 1 - 1e-9))
    found = []
    for each in chance:  # the binomial as a normal: what is left over need not be exact
        count = np.rint(units * each + z * np.sqrt(units * each * (1 - each)))
        found.append(np.clip(count, 0, units).astype(np.intp))
    return found
