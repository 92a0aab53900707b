"""Large plans, a part at a time. What wants of different plants have in common is the room on the
benches and the time of the hands; the relaxed programme says who had best get how much of it. In
its share each kind of plant is planned for itself; then a few kinds at a time are planned anew in
all the room that the others leave, as long as there is time (a large neighbourhood search, Shaw
1998, CP98, 417–431)."""

import time
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from lots.forecast.arrays import Floats
from lots.planning import greedy
from lots.planning.highs import NEAR, Progress, Relaxed, relax, search
from lots.planning.problem import MINUTES, RESOURCES, Problem, Solution, cost
from lots.planning.programme import Prices, Programme

# The share of the time in which each kind is planned for itself.
ALONE = 0.85
# Most parts are done in a trice: one that isn't may take so many times its share of the time.
MORE = 2
PATIENCE = 0.3  # seconds for a few kinds
AT_ONCE = 3  # kinds of plant that are planned anew together
SEED = 26

type Room = dict[str, Floats]


def plan(problem: Problem, seconds: float, progress: Progress | None = None) -> Solution:
    """The best plan found in so many seconds, with a bound on what any could cost."""
    began = time.monotonic()
    programme = Programme(problem)
    relaxed = relax(programme)
    kinds = sorted({want.kind for want in problem.wants})
    ends = began + seconds
    with ThreadPoolExecutor(1) as other:  # HiGHS leaves the interpreter alone while it works
        bound = other.submit(_bound, problem, relaxed.prices, kinds, ends)
        best = _by_shares(problem, programme, relaxed, kinds, ALONE * (ends - time.monotonic()))
        best = min(greedy.plan(problem), best, key=lambda of: cost(problem, of))
        rng = np.random.default_rng(SEED)
        while (left := ends - time.monotonic()) > 0 and len(kinds) > 1:
            best.bound = max(relaxed.cost, bound.result() if bound.done() else 0.0)
            spent = cost(problem, best)
            if spent <= (1 + NEAR) * best.bound or (progress and progress(spent, best.bound)):
                break
            best = _anew(problem, best, _some(problem, best, kinds, rng), min(left, PATIENCE))
    best.bound = max(relaxed.cost, bound.result())
    best.done = cost(problem, best) <= (1 + NEAR) * best.bound + 1e-9
    return best


def _bound(problem: Problem, prices: Prices, kinds: Sequence[int], ends: float) -> float:
    """What no plan costs less than: each kind for itself may have as much room as it likes, at the
    prices that the relaxed programme puts on it (a Lagrangian bound, Geoffrion 1974, Math. Prog.
    Study 2, 82–114)."""
    free = {name: np.full(problem.weeks, np.inf) for name in RESOURCES}
    total = 0.0
    for name in RESOURCES:
        limited = np.isfinite(problem.room[name])
        total -= float(prices[name][limited] @ np.maximum(problem.room[name][limited], 0.0))
    for n, kind in enumerate(kinds):
        programme = Programme(Part(problem, [kind]).problem(free, np.zeros(problem.weeks)))
        programme.charge(prices)
        total += search(programme, _patience(ends, len(kinds) - n)).bound or 0.0
    return total


def _patience(ends: float, parts: int) -> float:
    """Seconds for one of so many parts that are to be done by then."""
    left = max(ends - time.monotonic(), 0.0)
    return min(MORE * left / parts, left / 2)


def _by_shares(
    problem: Problem, programme: Programme, relaxed: Relaxed, kinds: Sequence[int], seconds: float
) -> Solution:
    """Each kind for itself, the most urgent first, in the share of the room that the relaxed
    programme gives it, and what those before it left of theirs."""
    shares = _shares(programme, relaxed.values)
    room = {name: np.array(problem.room[name], dtype=float) for name in RESOURCES}
    given = {name: room[name] - sum(share[name] for share in shares.values()) for name in RESOURCES}
    minutes = np.array(problem.already, dtype=float)
    whole = Solution({}, {})
    ends = time.monotonic() + seconds
    for n, kind in enumerate(sorted(kinds, key=lambda kind: _urgency(problem, kind))):
        given = {name: given[name] + shares[kind][name] for name in RESOURCES}
        part = Part(problem, [kind])
        left = {name: np.minimum(given[name], room[name]) for name in RESOURCES}
        found, used = part.plan(left, minutes, _patience(ends, len(kinds) - n))
        for of in (given, room):
            for name in RESOURCES:
                of[name] = of[name] - used[name]
        minutes = minutes + used[MINUTES]
        part.put(found, whole)
    return whole


def _anew(problem: Problem, best: Solution, kinds: Sequence[int], seconds: float) -> Solution:
    """The plan with these kinds planned anew in what the others leave, if that is cheaper."""
    part = Part(problem, kinds)
    others = part.without(best)
    used = others.used(problem)
    room = {name: problem.room[name] - used[name] for name in RESOURCES}
    found, _used = part.plan(room, problem.already + used[MINUTES], seconds, part.of(best))
    part.put(found, others)
    return min(best, others, key=lambda of: cost(problem, of))


def _some(
    problem: Problem, best: Solution, kinds: Sequence[int], rng: np.random.Generator
) -> list[int]:
    """A few kinds by chance, those with pots that are short or late above all."""
    weight = dict.fromkeys(kinds, 0.05 * sum(want.pots for want in problem.wants) / len(kinds))
    for n, want in enumerate(problem.wants):
        weight[want.kind] += want.pots * (1 - best.served(problem, n))
    chance = np.array([weight[kind] for kind in kinds])
    count = min(AT_ONCE, len(kinds))
    return [int(kind) for kind in rng.choice(kinds, count, replace=False, p=chance / chance.sum())]


class Part:
    """The wants and plants of some kinds, as a problem of their own."""

    def __init__(self, problem: Problem, kinds: Iterable[int]) -> None:
        self.whole, kinds = problem, set(kinds)
        self.wants = [n for n, want in enumerate(problem.wants) if want.kind in kinds]
        self.groups = [g for g, group in enumerate(problem.plants) if group.kind in kinds]

    def plan(
        self, room: Room, minutes: Floats, seconds: float, start: Solution | None = None
    ) -> tuple[Solution, Room]:
        """A plan of the part in a room, and what it uses of it."""
        problem = self.problem(room, minutes)
        found = search(Programme(problem), seconds, start or greedy.plan(problem))
        return found, found.used(problem)

    def problem(self, room: Room, minutes: Floats) -> Problem:
        return Problem(
            [self.whole.wants[n] for n in self.wants],
            [self.whole.plants[g] for g in self.groups],
            {name: np.maximum(left, 0.0) for name, left in room.items()},
            self.whole.cells,
            minutes,
        )

    def of(self, whole: Solution) -> Solution:
        """The part of a plan, by the part's own numbers."""
        wants = {n: own for own, n in enumerate(self.wants)}
        groups = {g: own for own, g in enumerate(self.groups)}
        return Solution(
            {(wants[n], week): units for (n, week), units in whole.units.items() if n in wants},
            {(groups[g], week): count for (g, week), count in whole.cuts.items() if g in groups},
        )

    def without(self, whole: Solution) -> Solution:
        """A plan without the part."""
        wants, groups = set(self.wants), set(self.groups)
        return Solution(
            {key: units for key, units in whole.units.items() if key[0] not in wants},
            {key: count for key, count in whole.cuts.items() if key[0] not in groups},
        )

    def put(self, found: Solution, whole: Solution) -> None:
        """Put the part's plan into one of all."""
        whole.units |= {(self.wants[n], week): units for (n, week), units in found.units.items()}
        whole.cuts |= {(self.groups[g], week): count for (g, week), count in found.cuts.items()}


def _urgency(problem: Problem, kind: int) -> float:
    return min(greedy.urgency(want)[0] for want in problem.wants if want.kind == kind)


def _shares(programme: Programme, values: Floats) -> dict[int, Room]:
    """(weeks,) of each resource that each kind takes in the relaxed programme."""
    wants, weeks = programme.problem.wants, programme.problem.weeks
    shares = {want.kind: {name: np.zeros(weeks) for name in RESOURCES} for want in wants}
    kind_of = {column: wants[n].kind for (n, _week), column in programme.units.items()}
    kind_of |= {column: wants[n].kind for (n, _week), column in programme.flats.items()}
    for column, name, taken, amount in programme.uses():
        shares[kind_of[column]][name][taken] += amount * values[column]
    return shares
