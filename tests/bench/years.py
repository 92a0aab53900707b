"""Two hundred years of invented nurseries that follow the plan: how often targets were met, by the
chance asked, their size, and the own lots behind them; and what dividing by the average take would
have come to, stuck on the same days.

    python -m tests.bench.years [--years 200]
"""

import argparse
import os
from collections.abc import Callable

import django
import numpy as np

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from tests.planning.years import FACTORS, Outcome, year  # noqa: E402

FAMILIES = ["lognormal", "weibull", "gamma"]


def rows(found: list[Outcome], what: str, of: Callable[[Outcome], str]) -> None:
    for value in sorted({of(one) for one in found}):
        some = [one for one in found if of(one) == value]
        met, asked = np.mean([one.met for one in some]), np.mean([one.sure for one in some])
        error = np.sqrt(asked * (1 - asked) / len(some))
        print(f"{what} {value}: met {met:.3f}, asked {asked:.3f} ± {error:.3f}, {len(some)} times")


def behind(one: Outcome) -> str:
    edges = [(10, "  0-9"), (40, "10-39"), (160, "40-159")]
    return next((name for most, name in edges if one.behind < most), "more")


def told(found: list[Outcome]) -> None:
    rows(found, "all", lambda one: "")
    rows(found, "asked", lambda one: f"{one.sure}")
    rows(found, "pots", lambda one: f"{one.pots:3}")
    rows(found, "lots behind", behind)
    for factor in (1.0, 1.2):
        met = np.mean([one.met_by[factor] for one in found])
        print(f"{factor} times what dividing says, stuck on the same days: met {met:.3f}")
    for sure in sorted({one.sure for one in found}):
        some = [one for one in found if one.sure == sure]
        met = np.mean([one.met for one in some])
        units = sum(one.units for one in some) / sum(one.divided for one in some)
        as_sure = (f for f in FACTORS if np.mean([one.met_by[f] for one in some]) >= met)
        print(
            f"asked {sure}: {units:.3f} times what dividing says; "
            f"all alike, as sure takes {next(as_sure, 'more than twice')} times"
        )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--years", type=int, default=200)
    years = asked.parse_args().years
    for times in (1, 3):
        print(f"wanted {times} time(s):")
        found: list[Outcome] = []
        for seed in range(years // 2):
            found += year(100 + seed, FAMILIES[seed % 3], 24 // times, times)
        told(found)


if __name__ == "__main__":
    main()
