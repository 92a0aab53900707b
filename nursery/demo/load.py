"""Writes the demo nursery into an empty book."""

import gc
from datetime import date, timedelta
from math import cos, tau

import numpy as np
from django.db import transaction
from numpy.random import Generator

from lots import ledger
from lots.models import Cut, Limit, StickingSession, StockPlant, Target
from lots.sticking.cutting import number_cuts
from nursery.demo import bench, catalogue, trials
from nursery.demo.basics import Basics, fill_basics
from nursery.demo.writer import Writer

YEARS = 3
PLANNED = 10  # lots of tomorrow's session
ENOUGH_FOR_TRIALS = 200  # lots; in a smaller book trials would be most of it


@transaction.atomic
def load(*, day: date, lots: int, seed: int, password: str) -> None:
    """Write the nursery as it stands on the morning of `day`, with about `lots` lots, into a
    book that has none. The same day, lots and seed give the same book."""
    rng = np.random.default_rng([seed, day.toordinal(), lots])
    basics = fill_basics(lots, password)
    start = day - timedelta(days=365 * YEARS)
    stock = bench.Bench(rng, day, basics.places[2], own_each=2 + lots // 5000)
    stock.furnish([variety for variety, _kind in basics.varieties], start)
    writer = Writer(rng, day, basics, stock)
    planned = min(PLANNED, lots)
    asked = trials.by_day(day) if lots >= ENOUGH_FOR_TRIALS else {}
    in_trials = trials.LOTS if asked else 0
    days = _session_days(rng, start, day, lots - planned - in_trials)
    days = sorted((dict.fromkeys(asked, 0) | dict(days)).items())
    # A large book is millions of objects and not one cycle: the collector would walk them all
    # over and over, which is a fifth of the time.
    gc.disable()
    try:
        ledger.load(writer.book(days, planned, asked))
    finally:
        gc.enable()
    StockPlant.objects.bulk_create(
        source.plant for sources in stock.of.values() for source in sources
    )
    Cut.objects.bulk_create(writer.cuts, batch_size=1000)
    number_cuts(StickingSession.objects.get(day=day + timedelta(days=1)))
    Target.objects.bulk_create(_targets(rng, day, basics))
    Limit.objects.bulk_create(_limits(day))


def _session_days(rng: Generator, start: date, today: date, lots: int) -> list[tuple[date, int]]:
    """The sitting days before today, each with its number of lots: more in spring and late
    summer, more from year to year, none at the weekend."""
    if lots < 1:
        return []
    days = [start + timedelta(days=number) for number in range((today - start).days)]
    days = [each for each in days if each.weekday() < 5]
    weights = np.array(
        [
            (1 + 0.45 * cos(tau * (each.timetuple().tm_yday - 95) / 182.6))
            * (1 + 0.6 * number / len(days))
            for number, each in enumerate(days)
        ]
    )
    edges = np.cumsum(weights / weights.sum())
    sittings = min(max(lots // 8, 1), len(days))
    # One sitting in each equal share of the work, so that there is always one of late.
    marks = (np.arange(sittings) + rng.random(sittings)) / sittings
    chosen = np.unique(np.minimum(np.searchsorted(edges, marks), len(days) - 1))
    share = weights[chosen] if sittings == len(days) else np.ones(len(chosen))
    counts = rng.multinomial(lots - len(chosen), share / share.sum()) + 1
    return [(days[which], int(count)) for which, count in zip(chosen, counts, strict=True)]


def _limits(today: date) -> list[Limit]:
    """The room of every week, and a holiday."""
    monday = today - timedelta(days=today.weekday())
    return [
        Limit(flats=160, cells_per_flat=48, minutes=600, pot_area_m2=60),
        Limit(week=monday + timedelta(weeks=5), minutes=0),
    ]


def _targets(rng: Generator, today: date, basics: Basics) -> list[Target]:
    able = [variety for variety, _kind in basics.varieties if variety.may_be_stuck]
    return [
        Target(
            variety=able[which],
            pot_size=basics.pots[1 if rng.random() < 0.7 else 2],
            pots=int(rng.integers(2, 13)) * 10,
            wanted_by=today + timedelta(days=int(rng.integers(60, 330))),
            for_whom=catalogue.CUSTOMERS[rng.integers(len(catalogue.CUSTOMERS))],
        )
        for which in rng.choice(len(able), 16, replace=False)
    ]
