"""Sticking plans against every plan there is (small ones), and against the rules (large ones)."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from lots.planning import by_parts, greedy, highs, lifting, programme, solving
from lots.planning.problem import Problem, Solution, cost
from tests.bench.plan import problem as large
from tests.planning.plans import random_problem, spent, wrong


def best_of_all(problem: Problem) -> float:
    """The cost of the best plan, by trying every one."""
    weeks = len(problem.cells)
    slots = [(n, c.week, c.units) for n, want in enumerate(problem.wants) for c in want.choices]
    plants = [(g, week) for g in range(len(problem.plants)) for week in range(weeks)]
    ways = []
    for counts in product(*(range(problem.plants[g].may[week] + 1) for g, week in plants)):
        cuts = {key: count for key, count in zip(plants, counts, strict=True) if count}
        if not wrong(replace(problem, wants=[]), {}, cuts):
            given = [0] * weeks
            for (g, week), count in cuts.items():
                given[week] += problem.plants[g].pieces * count
            ways.append((cuts, np.array(given)))
    best = np.inf
    no_plants = replace(problem, plants=[])
    for counts in product(*(range(most + 1) for _n, _week, most in slots)):
        units = {(n, w): count for (n, w, _m), count in zip(slots, counts, strict=True) if count}
        if spent(problem, units, {}, watched=False) >= best:
            continue
        pieces = np.zeros(weeks, dtype=int)
        for (n, week), count in units.items():
            pieces[week] += problem.wants[n].pieces * count
        if [says for says in wrong(no_plants, units, {}) if "pieces" not in says]:
            continue
        for cuts, given in ways:
            if (given >= pieces).all():
                best = min(best, spent(problem, units, cuts))
    return float(best)


@pytest.mark.parametrize("seed", range(16))
def test_a_small_plan_is_the_best_of_all(seed):
    problem = random_problem(seed)
    found = solving.solve(problem, 5)
    assert wrong(problem, found.units, found.cuts) == []
    assert found.done
    best = best_of_all(problem)
    assert cost(problem, found) == pytest.approx(spent(problem, found.units, found.cuts))
    assert cost(problem, found) == pytest.approx(best, rel=2e-3, abs=1e-6)
    assert found.bound <= best + 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_in_parts_it_keeps_every_limit_and_is_bounded(seed):
    problem = large(20, 40, seed, tight=1.0)
    quick, parts = greedy.plan(problem), by_parts.plan(problem, 0.7)
    whole = highs.search(programme.Programme(problem), 1, parts)
    for found in (quick, parts, whole):
        assert wrong(problem, found.units, found.cuts) == []
    assert cost(problem, parts) <= cost(problem, quick) + 1e-6
    relaxed = highs.relax(programme.Programme(problem)).cost
    assert relaxed <= parts.bound + 1e-6 <= cost(problem, whole) + 2e-6


def test_plans_settled_in_part_stay_so():
    problem = random_problem(3, wants=3, weeks=6, most=6, groups=3)
    wants = list(problem.wants)
    [first, *others] = wants[0].choices
    wants[0] = replace(wants[0], fixed={first.week: 1}, barred=frozenset(c.week for c in others))
    free = {name: np.full(6, np.inf) for name in problem.room}
    plenty = [replace(group, pieces=99, kind=wants[0].kind) for group in problem.plants]
    for group in plenty:
        group.may[:] = group.ready[:] = 9
    problem = replace(problem, wants=wants, room=free, plants=plenty)
    for found in (greedy.plan(problem), solving.solve(problem, 5)):
        assert wrong(problem, found.units, found.cuts) == []
        assert {key: n for key, n in found.units.items() if key[0] == 0} == {(0, first.week): 1}


def test_it_keeps_to_the_plan_before_where_that_costs_nothing():
    problem = random_problem(5, wants=1, weeks=6, most=4, groups=1)
    [want] = problem.wants
    choices = tuple(c._replace(off=0.0, units=4, bench=c.week) for c in want.choices)
    free = {name: np.full(6, np.inf) for name in problem.room}
    plants = [replace(problem.plants[0], pieces=99, kind=want.kind, watch=False)]
    plants[0].may[:] = plants[0].ready[:] = 1
    for choice in choices:
        before = replace(want, choices=choices, before=frozenset({choice.week}))
        found = solving.solve(
            replace(problem, wants=[before], room=free, plants=plants, already=np.zeros(6)), 5
        )
        assert found.units == {(0, choice.week): 4}


def test_it_can_be_stopped_and_tells_how_far_it_is():
    told = []

    def stop(best, bound):
        told.append((best, bound))
        return True

    problem = large(60, 60, 1, tight=0.8)
    found = solving.solve(problem, 30, stop)
    assert told
    assert not found.done
    assert wrong(problem, found.units, found.cuts) == []


@pytest.mark.parametrize("seed", range(40, 54))
def test_what_is_short_is_whole_once_its_limit_is_lifted_as_told(seed):
    problem = random_problem(seed, wants=3, weeks=5, most=6, kinds=2, groups=2)
    found = solving.solve(problem, 5)
    for n in range(len(problem.wants)):
        if found.served(problem, n) > 0.9:  # the last part of a pot is not worth a plant on watch
            continue
        lifted = lifting.lift(problem, found, n)
        if lifted is None:
            assert not problem.wants[n].choices
            continue
        again = _raised(problem, found, n, lifted)
        best = solving.solve(again, 5)
        assert wrong(again, best.units, best.cuts) == []
        assert best.served(again, n) > 0.9
        if len(lifted.more) == 1:  # a little less will not do
            [(limit, weeks)] = lifted.more.items()
            less = {limit: np.floor(weeks * 0.99) if limit == lifting.STOCK else weeks * 0.99}
            worse = _raised(problem, found, n, lifting.Lift(less))
            assert solving.solve(worse, 5).served(worse, n) < 0.999


def _raised(problem: Problem, found: Solution, n: int, lifted: lifting.Lift) -> Problem:
    """The problem with limits raised, and all but one want settled as they are."""
    wants = [
        want
        if at == n
        else replace(
            want,
            fixed={week: units for (of, week), units in found.units.items() if of == at},
            barred=frozenset(c.week for c in want.choices if (at, c.week) not in found.units),
        )
        for at, want in enumerate(problem.wants)
    ]
    room = {name: room + lifted.more.get(name, 0.0) for name, room in problem.room.items()}
    plants = list(problem.plants)
    for week in np.flatnonzero(lifted.more.get(lifting.STOCK, np.zeros(len(problem.cells)))):
        once = (np.arange(len(problem.cells)) == week).astype(int)
        pieces = int(np.ceil(lifted.more[lifting.STOCK][week] - 1e-9))
        [like] = problem.plants[:1]
        plants.append(
            replace(
                like, kind=wants[n].kind, pieces=pieces, rest=1, watch=False, ready=once, may=once
            )
        )
    return replace(problem, wants=wants, room=room, plants=plants)
