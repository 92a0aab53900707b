"""How long a full refit takes, and how that compares with a general library on the same rows.

    python -m tests.bench.fit [MINUTES]

Fits struck, finished and take of 12,500, 25,000 and 50,000 lots (a variety to 50 lots, cut from
four stock plants; twelve years, forty benches; a nursery that changes in every way), then runs
lifelines' interval-censored log-normal regression with the same effects as fixed ones, on ever
more lots, until it has had MINUTES (10 unless told), and prints the ratio at the largest size
that it finished. Exits with 1 if a refit of 50,000 lots takes 5 s or more, if its cost grows
faster than the lots do, or if it is less than 20 times as fast.
"""

import multiprocessing
import sys
import time
import warnings
from dataclasses import replace

import numpy as np
import pandas as pd
from lifelines import LogNormalAFTFitter

from lots.forecast import durations, lotrows, takes
from tests.forecast.changing import changing
from tests.forecast.simulate import Nursery, seen

LOTS_A_VARIETY = 50
YEARS = 12.0
BENCHES = 40
PLANTS = 4  # of a variety
AS_OF = YEARS * 365.25


def nursery_of(lots: int) -> Nursery:
    rng = np.random.default_rng(lots)
    of = changing(
        "mixed", 1, as_of=AS_OF - 200, varieties=lots // LOTS_A_VARIETY, lots=lots, years=YEARS
    )
    house = of.struck_lots.traits["house"]
    bench = np.char.add(np.char.add(house, " "), rng.integers(0, BENCHES // 6, lots).astype(str))
    plant = np.char.add(of.take_lots.variety, rng.integers(0, PLANTS, lots).astype(str))
    told = {"bench": bench, "plant": plant}
    rows = {
        name: replace(getattr(of, name), traits=getattr(of, name).traits | told)
        for name in ("struck_lots", "finished_lots", "take_lots")
    }
    return replace(of, **rows)


def refit(of: Nursery) -> tuple[dict[str, float], float]:
    """Seconds by model, and seconds of processor for all: other work on the machine doesn't
    count for those."""
    open_lots = of.stuck_on > AS_OF - 60
    least = np.where(open_lots, 0, of.taken)
    most = np.where(open_lots, of.units - 1, of.taken)
    looks = {stage: seen(of, getattr(of, stage), AS_OF) for stage in ("struck", "finished")}
    took, cost = {}, time.process_time()
    for stage, (low, high) in looks.items():
        start = time.perf_counter()
        durations.fit(getattr(of, f"{stage}_lots"), low, high)
        took[stage] = time.perf_counter() - start
    start = time.perf_counter()
    takes.fit(of.take_lots, of.units, least, most)
    took["take"] = time.perf_counter() - start
    return took, time.process_time() - cost


def library(of: Nursery, answer: "multiprocessing.Queue[float]") -> None:
    """Seconds that lifelines needs for the finished lots, cells and season as fixed effects."""
    low, high = seen(of, of.finished, AS_OF)
    kinds = np.char.add(of.finished_lots.group, of.finished_lots.variety)
    cells = pd.get_dummies(kinds, drop_first=True, dtype=float)
    cells.columns = [f"cell{number}" for number in range(cells.shape[1])]
    shared = lotrows.fixed_columns(of.finished_lots)[:, 1:4]
    frame = cells.assign(sine=shared[:, 0], cosine=shared[:, 1], pot=shared[:, 2])
    # The library takes no interval from 0.
    frame = frame.assign(low=np.maximum(low, 0.5), high=high)
    warnings.simplefilter("ignore")  # it minds how its own table is laid out
    start = time.perf_counter()
    LogNormalAFTFitter(penalizer=0.001).fit_interval_censoring(frame, "low", "high")
    answer.put(time.perf_counter() - start)


def library_within(lots: int, seconds: float) -> float | None:
    """Seconds that lifelines needs, None if it fails or needs more than it is given."""
    answer: multiprocessing.Queue[float] = multiprocessing.Queue()
    worker = multiprocessing.Process(target=library, args=(nursery_of(lots), answer))
    worker.start()
    worker.join(seconds)
    if worker.is_alive():
        worker.terminate()
        worker.join()
        return None
    return None if worker.exitcode else answer.get()


def main(minutes: float) -> int:
    totals, costs = [], []
    for lots in (12_500, 25_000, 50_000):
        of = nursery_of(lots)
        took, cost = min((refit(of) for _ in range(3)), key=lambda each: each[1])
        totals.append(sum(took.values()))
        costs.append(cost)
        parts = ", ".join(f"{what} {seconds:.2f}" for what, seconds in took.items())
        print(f"{lots:6,} lots: refit {totals[-1]:.2f} s ({parts}), {cost:.2f} s of processor")
    growth = costs[-1] / costs[0]
    print(f"4 times the lots cost {growth:.1f} times as much")
    deadline, ratio, lots = time.monotonic() + 60 * minutes, 0.0, 250
    while (left := deadline - time.monotonic()) > 0:
        seconds = library_within(lots, left)
        if seconds is None:
            print(f"lifelines doesn't finish {lots:,} lots in the time left")
            break
        of = nursery_of(lots)
        low, high = seen(of, of.finished, AS_OF)
        start = time.perf_counter()
        durations.fit(of.finished_lots, low, high)
        ours = time.perf_counter() - start
        ratio = seconds / ours
        print(f"{lots:6,} lots: lifelines {seconds:.2f} s, ours {ours:.3f} s, {ratio:.0f} times")
        lots *= 2
    return int(totals[-1] >= 5 or growth > 4.4 or ratio < 20)


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0))
