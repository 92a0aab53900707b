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
        # Three times of one series have lots in common.
        error = np.sqrt(asked * (1 - asked) / (len(some) / 3))
        print(f"{what} {value}: met {met:.3f}, asked {asked:.3f} ± {error:.3f}, {len(some)} times")


def behind(one: Outcome) -> str:
    edges = [(10, "  0-9"), (40, "10-39"), (160, "40-159")]
    return next((name for most, name in edges if one.behind < most), "more")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--years", type=int, default=200)
    found: list[Outcome] = []
    for seed in range(asked.parse_args().years):
        found += year(100 + seed, FAMILIES[seed % 3])
    rows(found, "all", lambda one: "")
    rows(found, "asked", lambda one: f"{one.sure}")
    rows(found, "pots", lambda one: f"{one.pots:3}")
    rows(
        found,
        "lots behind",
        lambda one: "  0-9" if one.behind < 10 else "10-39" if one.behind < 40 else "40 up",
    )
    print(f"units: {sum(one.units for one in found):,}")
    for factor in FACTORS:
        met = np.mean([one.met_by[factor] for one in found])
        units = sum(int(np.ceil(factor * one.divided)) for one in found)
        print(f"{factor} times what dividing says: met {met:.3f}, units {units:,}")


if __name__ == "__main__":
    main()
