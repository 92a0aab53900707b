"""What becomes of a lot's units: drawn before anybody looks."""

from dataclasses import dataclass
from datetime import date
from math import cos, exp, log, tau

from numpy.random import Generator

from nursery.demo.catalogue import Course

REASONS = ["rot", "rot", "rot", "dried out", "dried out", "pest", "disease", "mishap", "other"]
OVERDISPERSION = 0.08  # of the take between lots, as in a beta-binomial
ALL_FAIL, ALL_TAKE, SLOW, TROUBLE = 0.015, 0.05, 0.05, 0.02  # shares of lots


@dataclass(frozen=True, slots=True)
class Deviation:
    """How a variety differs from its crop group: on log days and on the logit of the take."""

    struck: float
    finished: float
    take: float


@dataclass(slots=True)
class Outcome:
    """Days count from sticking; each list is in order of days."""

    rooting: list[float]  # of the units that root, blind ones included
    good: list[float]  # of those that go on to make a plant
    dying: list[tuple[float, str]]  # units that die, with the reason
    struck: float  # the middle day of rooting
    finished: float  # the middle day of finishing


def draw_deviation(rng: Generator) -> Deviation:
    return Deviation(rng.normal(0, 0.14), rng.normal(0, 0.1), rng.normal(0, 0.5))


def _draw_chance(rng: Generator, logit: float) -> float:
    """Of a lot, where that of its kind has this logit; now and then none or all of a lot takes."""
    share = 1 / (1 + exp(-logit))
    spread = 1 / OVERDISPERSION - 1
    luck = rng.random()
    if luck < ALL_FAIL:
        return 0.0
    if luck > 1 - ALL_TAKE:
        return 1.0
    return float(rng.beta(share * spread, (1 - share) * spread))


def draw(
    rng: Generator,
    course: Course,
    deviation: Deviation,
    stuck_on: date,
    *,
    units: int,
    pieces: int,
    least: int,
    sick: bool,
    chance: float | None = None,
) -> Outcome:
    """The outcome of `units` units of `pieces` pieces, of which `least` have to take. The `chance`
    of a piece to take is drawn as of lots of its kind, and trouble of its own, unless it is given.

    Winter is slower and takes worse: `dark` is 1 in mid January and -1 in mid July.
    """
    dark = cos(tau * (stuck_on.timetuple().tm_yday - 15) / 365.25)
    struck = course.struck * exp(deviation.struck + 0.1 * dark + rng.normal(0, 0.13))
    finished = course.finished * exp(deviation.finished + 0.07 * dark + rng.normal(0, 0.09))
    if rng.random() < SLOW:
        struck, finished = struck * 1.3, finished * 1.35
    finished = max(finished, struck + 24)

    own = chance is None
    if chance is None:
        chance = _draw_chance(
            rng, log(course.take / (1 - course.take)) + deviation.take - 0.2 * dark
        )
    if pieces == 1:
        good = int(rng.binomial(units, chance))
    else:
        good = int((rng.binomial(pieces, chance, units) >= least).sum())
    dying: list[tuple[float, str]] = []
    if sick or (own and rng.random() < TROUBLE):
        reason = "disease" if sick else "rot" if rng.random() < 0.7 else "dried out"
        hit = int(rng.binomial(good, rng.uniform(0.5, 0.95)))
        outbreak = struck * rng.uniform(0.4, 1.0)
        dying += [(outbreak + late, reason) for late in rng.exponential(2, hit).tolist()]
        good -= hit
    failing = units - good - len(dying)
    blind = int(rng.binomial(failing, course.blind)) if course.blind else 0
    failing -= blind
    # A lot has mostly one trouble of its own.
    usual, other = (REASONS[which] for which in rng.integers(0, len(REASONS), 2))
    dying += [
        (struck * when, usual if luck < 0.8 else other)
        for when, luck in rng.uniform((0.3, 0), (1.6, 1), (failing, 2)).tolist()
    ]
    dying.sort()
    rooting = (struck * rng.lognormal(0, 0.2, good + blind)).tolist()
    return Outcome(sorted(rooting), sorted(rooting[:good]), dying, struck, finished)
