"""What stock plants can give in the weeks of a plan, and which of them give it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from lots.models import Cut, Stage, StockPlant
from lots.models.stock import Health
from lots.planning.problem import Plants
from lots.stockplants.pieces import IN_ORDER
from lots.supply.plan.horizon import Horizon


@dataclass(frozen=True, slots=True)
class Group:
    """Stock plants that are alike to a plan, with the weeks in which each may be cut."""

    plants: list[StockPlant]
    may: list[np.ndarray]
    numbers: Plants


def groups(horizon: Horizon, varieties: Sequence[int]) -> list[Group]:
    """The plants of varieties that may be cut and of which the book says what a cut gives; `kind`
    is the variety's place in the list."""
    plants = StockPlant.objects.filter(
        variety__in=varieties, health__in=IN_ORDER, pieces_per_cut__isnull=False
    )
    cuts = _cuts(varieties)
    alike: dict[tuple, list[tuple[StockPlant, np.ndarray]]] = defaultdict(list)
    for plant in plants.order_by("code"):
        may = _weeks(horizon, plant, cuts.get(plant.pk, ()))
        # Plants that only differ in when they are ready can be counted together; one that is to be
        # cut in a session already is a case of its own.
        ready = np.maximum.accumulate(may)
        own = () if (may == ready).all() else (plant.pk,)
        rest = max(plant.rest_weeks or 0, 1)
        watch = plant.health == Health.WATCH
        alike[plant.variety_id, plant.gives, rest, watch, *own].append((plant, may))
    found = []
    for (variety, gives, rest, watch, *_own), some in alike.items():
        may = np.sum([weeks for _plant, weeks in some], axis=0)
        ready = np.full(horizon.weeks, 1) if _own else may
        numbers = Plants(varieties.index(variety), gives, rest, watch, ready, may)
        found.append(
            Group([plant for plant, _may in some], [weeks for _plant, weeks in some], numbers)
        )
    return found


def _cuts(varieties: Sequence[int]) -> dict[int, list[tuple[date, bool]]]:
    """The days on which plants were cut, or are to be, and whether they were."""
    found: dict[int, list[tuple[date, bool]]] = defaultdict(list)
    cuts = Cut.objects.filter(stock_plant__variety__in=varieties)
    for plant, stage, stuck_on, planned in cuts.values_list(
        "stock_plant", "lot__stage", "lot__stuck_on", "lot__session__day"
    ):
        day = stuck_on or (planned if stage == Stage.PLANNED else None)
        if day:
            found[plant].append((day, stuck_on is not None))
    return found


def _weeks(horizon: Horizon, plant: StockPlant, cuts: Iterable[tuple[date, bool]]) -> np.ndarray:
    """(weeks,) 1 where a plant may be cut on whatever day of a week, else 0: it stands there by
    then, has rested from every cut before, and will have by the next one planned."""
    may = np.zeros(horizon.weeks, dtype=np.intp)
    rest = timedelta(weeks=plant.rest_weeks or 0)
    for week in range(horizon.weeks):
        first, last = horizon.first(week), horizon.last(week)
        free = plant.since <= first
        for day, done in cuts:
            cut = day if done else max(day, horizon.today)
            apart = cut + rest <= first if cut < first else last + rest <= cut
            free = free and apart and not horizon.starts(week) <= cut <= last
        may[week] = free
    return may


def cut_by_plant(group: Group, counts: dict[int, int]) -> dict[int, list[StockPlant]]:
    """Which plants of a group are cut in each week, given how many: those that have rested, the
    longest rested first."""
    rest = group.numbers.rest
    last_cut = [-rest] * len(group.plants)
    chosen: dict[int, list[StockPlant]] = {}
    for week in sorted(counts):
        free = [
            n for n in range(len(group.plants)) if group.may[n][week] and week - last_cut[n] >= rest
        ]
        free.sort(key=lambda n: (last_cut[n], int(np.argmax(group.may[n])), group.plants[n].code))
        chosen[week] = [group.plants[n] for n in free[: counts[week]]]
        for n in free[: counts[week]]:
            last_cut[n] = week
    return chosen
