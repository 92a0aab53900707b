"""Invented nurseries that change: what the simulator makes, moved by time, by house, by medium.

Whatever is added to the log days of striking is added to those of finishing, in part, and to the
logit of takes the other way.
"""

from dataclasses import replace

import numpy as np
from scipy.special import expit, logit

from tests.forecast.simulate import nursery

KINDS = ["quicker", "slower", "step down", "step up", "houses", "media", "mixed"]
YEAR = 365.25
FINISHED_SHARE, TAKE_SHARE = 0.8, 2.0


def changing(kind, seed, family="lognormal", as_of=730, **wanted):
    of = nursery(seed, family, **{"lots": 700} | wanted)
    rng = np.random.default_rng(1000 + seed)
    n = len(of.stuck_on)
    house, medium = rng.integers(0, 6, n), rng.integers(0, 3, n)
    years = (of.stuck_on - of.stuck_on.min()) / YEAR
    after = of.stuck_on >= as_of - 0.85 * YEAR
    by_house = rng.normal(0, 0.12, 6)[house]
    by_medium = np.array([0.0, 0.08, -0.1])[medium]
    moved = {
        "steady": np.zeros(n),
        "quicker": np.log(0.9) * years,
        "slower": np.log(1.1) * years,
        "step down": np.log(0.8) * after,
        "step up": np.log(1.2) * after,
        "houses": by_house,
        "media": by_medium,
        "one crop": np.log(0.85) * years * np.char.startswith(of.struck_lots.group, "rex"),
        "mixed": np.log(1.05) * years + np.log(0.85) * after + by_house + by_medium,
    }[kind]
    return with_effect(of, moved, house, medium)


def with_effect(of, moved, house, medium):
    """The nursery with `moved` added to its log days."""
    bench = np.char.add(np.char.add("house ", house.astype(str)), "-1")
    crop = [group.partition(",")[0] for group in of.struck_lots.group]
    traits = {
        "crop": np.array(crop),
        "house": np.char.add("house ", house.astype(str)),
        "bench": bench,
        "medium": np.array(["bark", "perlite", "sand"])[medium],
    }
    later = FINISHED_SHARE * moved
    rate = expit(logit(of.rate) - TAKE_SHARE * moved)
    rng = np.random.default_rng(len(moved))
    precision = 1 / 0.06 - 1
    taken = rng.binomial(of.units, rng.beta(rate * precision, (1 - rate) * precision))
    rows = {
        name: replace(getattr(of, name), traits=traits)
        for name in ("struck_lots", "finished_lots", "take_lots")
    }
    return replace(
        of,
        **rows,
        struck_mean=of.struck_mean + moved,
        finished_mean=of.finished_mean + later,
        struck=of.struck * np.exp(moved),
        finished=of.finished * np.exp(later),
        rate=rate,
        taken=taken,
    )
