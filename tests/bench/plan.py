"""How near to the best a plan of 150 targets, 26 weeks and 300 plants is after 5 and 20 seconds.

python -m tests.bench.plan [--targets 150] [--seed 1]
"""

import argparse
import time

import numpy as np

from lots.planning import greedy, highs, programme, solving
from lots.planning.problem import Choice, Plants, Problem, Want, cost

WEEKS = 26


def problem(targets: int = 150, plants: int = 300, seed: int = 1, tight: float = 1.0) -> Problem:
    """Wants of 20 to 150 pots of 75 varieties with a few plants each, in a nursery whose benches
    and hands are nearly enough."""
    rng = np.random.default_rng(seed)
    kinds = max(targets // 2, 1)
    wants = []
    for n in range(targets):
        pots, kind = int(rng.integers(20, 151)), n % kinds
        take, best = rng.uniform(0.4, 0.9), int(rng.integers(0, WEEKS + 6))
        strikes, grows = int(rng.integers(3, 9)), int(rng.integers(8, 20))
        choices = []
        for week in range(max(best - 12, 0), min(best + 5, WEEKS)):
            late = max(week - best, 0)
            units = int(np.ceil(pots / take * 1.25 * 1.12**late))
            area = take * 0.12**2
            lasts = (week + strikes, min(week + strikes + grows, WEEKS - 1))
            choices.append(Choice(week, units, week + strikes - 1, lasts, area, float(week - best)))
        pieces = int(rng.choice([1, 1, 1, 2]))
        wants.append(Want(pots, kind, pieces, pieces * 60 / rng.uniform(80, 200), tuple(choices)))
    groups = []
    for p in range(plants):
        ready = np.ones(WEEKS, dtype=np.intp)
        ready[: int(rng.integers(0, 5))] = 0
        pieces, rest = int(rng.integers(30, 120)), int(rng.integers(3, 9))
        groups.append(Plants(p % kinds, pieces, rest, bool(rng.random() < 0.1), ready, ready))
    asked = sum(want.choices[0].units * want.minutes for want in wants if want.choices) / WEEKS
    flats = sum(
        -(-want.choices[0].units // 48) * (want.choices[0].bench - want.choices[0].week + 1)
        for want in wants
        if want.choices
    )
    room = {
        "flats": np.full(WEEKS, np.ceil(tight * flats / WEEKS)),
        "minutes": np.full(WEEKS, tight * asked),
        "pot_area": np.full(WEEKS, tight * 110.0),
    }
    return Problem(wants, groups, room, np.full(WEEKS, 48), np.zeros(WEEKS))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--targets", type=int, default=150)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--tight", type=float, default=1.0)
    told = asked.parse_args()
    of = problem(told.targets, 2 * told.targets, told.seed, told.tight)
    began = time.perf_counter()
    quick = greedy.plan(of)
    print(f"quick plan: {time.perf_counter() - began:.2f} s, costs {cost(of, quick):.1f}")
    made = programme.Programme(of)
    print(
        f"{len(made.price)} variables, {sum(made.whole)} of them whole, {len(made.rows.low)} rows"
    )
    for seconds in (5, 20):
        began = time.perf_counter()
        found = solving.solve(of, seconds)
        took = time.perf_counter() - began
        print(
            f"{took:.1f} s: costs {cost(of, found):.1f}, bound {found.bound:.1f}, "
            f"gap {100 * highs.gap(of, found):.2f} %"
        )


if __name__ == "__main__":
    main()
