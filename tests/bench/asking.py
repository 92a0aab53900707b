"""How often the book asks whether something changed: `python -m tests.bench.asking`.

On invented nurseries that stay as they are it is to ask in at most one year of 20; on those that
take a step, soon. Takes a quarter of an hour.
"""

import numpy as np

from tests.forecast.asking import YEAR, asked
from tests.forecast.changing import changing

STAGES = ("struck", "finished", "take")
FAMILIES = ("weibull", "lognormal", "gamma")
YEARS, STEP = 5, 3 * YEAR
SEEDS = range(12)


def nursery(kind: str, seed: int, lots_a_year: int):
    # `changing` puts its step 0.85 of a year before the day it is given.
    as_of = STEP + 0.85 * 365.25
    family = FAMILIES[seed % 3]
    return changing(kind, seed, family, as_of, years=float(YEARS), lots=YEARS * lots_a_year)


def steady(lots_a_year: int, every: int) -> None:
    years = {"any": 0, **dict.fromkeys(STAGES, 0)}
    for seed in SEEDS:
        days = asked(nursery("steady", seed, lots_a_year), STAGES, every)
        for first in range(2 * YEAR, YEARS * YEAR, YEAR):
            told = {name for day in days if first <= day < first + YEAR for name in days[day]}
            for name in told | ({"any"} if told else set()):
                years[name] += 1
    of = len(SEEDS) * (YEARS - 2)
    print(f"steady, {lots_a_year} lots a year, a fit every {every} days: years of {of} asked for "
          + ", ".join(f"{name} {n}" for name, n in years.items()))  # fmt: skip


def stepping(kind: str, lots_a_year: int, every: int) -> None:
    waits = []
    for seed in SEEDS[:6]:
        days = asked(nursery(kind, seed, lots_a_year), STAGES, every)
        waits.append(min((day - STEP for day in days if day > STEP and days[day]), default=np.inf))
    print(f"{kind}, {lots_a_year} lots a year, a fit every {every} days: asked after "
          + ", ".join(f"{wait:g}" for wait in sorted(waits)) + " days")  # fmt: skip


if __name__ == "__main__":
    for lots_a_year, every in ((240, 91), (240, 182), (80, 91)):
        steady(lots_a_year, every)
        for kind in ("step down", "step up"):
            stepping(kind, lots_a_year, every)
