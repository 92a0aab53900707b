"""Invented nurseries with known truth, for testing forecasts against what then came."""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from lots.forecast.lotrows import Lots

HANDBOOK = [  # group and method: days to struck, days to finished, take (low, high)
    ("rex, wedge", (28, 49), (122, 210), (0.55, 0.95)),
    ("rex, whole leaf", (28, 49), (122, 210), (0.6, 0.95)),
    ("cane, tip", (16, 32), (77, 125), (0.8, 0.97)),
    ("cane, leaf-bud", (20, 42), (95, 155), (0.6, 0.92)),
    ("coleus, tip", (8, 28), (42, 75), (0.85, 0.98)),
    ("peperomia, petiole", (24, 42), (135, 190), (0.65, 0.92)),
    ("hoya, stem section", (28, 56), (195, 300), (0.68, 0.92)),
]
POTS = np.array([7.0, 9.0, 13.0])


@dataclass
class Nursery:
    """n lots with their truth. Days are of a calendar that starts at 0."""

    struck_lots: Lots
    finished_lots: Lots
    take_lots: Lots
    stuck_on: np.ndarray
    units: np.ndarray
    struck_mean: np.ndarray  # of log days, but for what no one can know
    finished_mean: np.ndarray
    struck_sigma: float
    finished_sigma: float
    struck: np.ndarray  # days
    finished: np.ndarray
    rate: np.ndarray  # mean take of lots of this kind
    taken: np.ndarray  # units
    check_gap: np.ndarray


def standard_noise(family, sigma, size, rng):
    """Log of a duration over its median, with standard deviation about sigma."""
    if family == "lognormal":
        return sigma * rng.standard_normal(size)
    if family == "weibull":  # sd of log is π/(√6 shape)
        shape = np.pi / np.sqrt(6) / sigma
        return np.log(rng.weibull(shape, size)) - np.log(np.log(2)) / shape
    shape = 1 / sigma**2
    draws = rng.gamma(shape, 1 / shape, size)
    return np.log(draws / np.median(rng.gamma(shape, 1 / shape, 20001)))


def nursery(seed, family="lognormal", varieties=60, lots=650, years=3.0, lasting=0.0, alike=0.5):
    """`lasting`: how much of a lot's lateness in striking is still there when it finishes;
    `alike`: share of the variance between varieties that their methods have in common."""
    rng = np.random.default_rng(seed)
    kinds = len(HANDBOOK)
    crop = rng.integers(0, 4, varieties)
    methods_of_crop = [[0, 1], [2, 3], [4], [5]] if kinds == 7 else None
    pairs = [
        (v, kind)
        for v in range(varieties)
        for kind in rng.permutation(methods_of_crop[crop[v]])[: rng.integers(1, 3)]
    ]
    busy = rng.gamma(1.0, 1.0, len(pairs))
    pair = rng.choice(len(pairs), lots, p=busy / busy.sum())
    variety, kind = np.array(pairs)[pair].T
    stuck_on = np.sort(rng.uniform(0, years * 365.25, lots)).round()
    day_of_year = stuck_on % 365.25 + 1
    pot = rng.choice(POTS, lots)
    angle = 2 * np.pi * day_of_year / 365.25
    units = rng.integers(12, 73, lots)

    def ranges(column):
        return np.array([HANDBOOK[k][column] for k in kind], dtype=float)

    def effect(log_low, log_high, spread, tau, season):
        middle = (log_low + log_high) / 2
        off = rng.normal(0, 0.6 * spread) + rng.normal(0, 0.8 * spread, kinds)[kind]
        phase = rng.uniform(0, 2 * np.pi)
        common = rng.normal(0, tau * alike**0.5, varieties)[variety]
        own = rng.normal(0, tau * (1 - alike) ** 0.5, len(pairs))[pair]
        return middle + off + common + own + season * np.cos(angle - phase)

    def rows(expected):
        return Lots(
            group=np.array([HANDBOOK[k][0] for k in kind]),
            variety=np.array([f"variety {v}" for v in variety]),
            day_of_year=day_of_year,
            expected_low=expected[:, 0],
            expected_high=expected[:, 1],
            pot_cm=pot,
            pot_var=np.zeros(lots),
            late=np.zeros(lots),
            late_var=np.zeros(lots),
            moved=np.zeros(lots),
            day=stuck_on,
            traits={},
        )

    struck_range, finished_range, take_range = ranges(1), ranges(2), ranges(3)
    struck_sigma, finished_sigma = rng.uniform(0.12, 0.22), rng.uniform(0.08, 0.16)
    struck_mean = effect(*np.log(struck_range.T), 0.2, rng.uniform(0.1, 0.2), 0.15)
    finished_mean = effect(*np.log(finished_range.T), 0.15, rng.uniform(0.08, 0.18), 0.12)
    finished_mean = finished_mean + 0.4 * np.log(pot / 10)
    logit = np.log(take_range / (1 - take_range))
    rate = expit(effect(*logit.T, 0.5, rng.uniform(0.4, 0.8), 0.3))
    rho = rng.uniform(0.03, 0.12)
    precision = 1 / rho - 1
    taken = rng.binomial(units, rng.beta(rate * precision, (1 - rate) * precision))
    late = standard_noise(family, struck_sigma, lots, rng)
    later = standard_noise(family, finished_sigma, lots, rng)
    return Nursery(
        rows(struck_range),
        rows(finished_range),
        rows(take_range),
        stuck_on,
        units,
        struck_mean,
        finished_mean,
        struck_sigma,
        finished_sigma,
        np.exp(struck_mean + late),
        np.exp(finished_mean + later + lasting * late),
        rate,
        taken,
        rng.choice([4, 7, 10, 14], lots),
    )


def seen(nursery, days, as_of):
    """What the book knows of `days` on day `as_of`: (low, high), for looks at a steady gap from
    a few days after sticking."""
    gap = nursery.check_gap
    age = as_of - nursery.stuck_on
    looks_before = np.ceil(days / gap) - 1
    last_look = np.floor(age / gap)
    there = looks_before + 1 <= last_look
    low = np.where(there, looks_before, np.maximum(last_look, 0)) * gap
    high = np.where(there, (looks_before + 1) * gap, np.inf)
    return low.astype(float), high


SPREAD = 0.08


def pot_days(nursery, rng):
    """Days after sticking on which each pot of each lot finishes: half of them by the lot's own."""
    return [
        np.sort(days * np.exp(SPREAD * rng.standard_normal(taken)))
        for days, taken in zip(nursery.finished, nursery.taken, strict=True)
    ]
