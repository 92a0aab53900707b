"""What a sticking plan has to decide, as numbers: wants, stock plants, and the room of each week.

Weeks are counted from the first of the plan, 0; a unit makes one pot where it takes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from lots.forecast.arrays import Floats, Ints

# What is limited in a week.
FLATS, MINUTES, AREA = RESOURCES = ("flats", "minutes", "pot_area")
STOCK = "stock"

# What a plan costs, in pots: one that is short; one that is a week later, or earlier, than it had
# best be stuck; one whose pieces come of a plant on watch; a flat; an hour more or less than in the
# week before; one that the plan before stuck in another week. Being short is dearer than whatever
# else could befall a pot in half a year.
SHORT, LATE, EARLY, WATCH, FLAT, UNEVEN, MOVED = 100.0, 1.0, 0.02, 30.0, 0.2, 0.02, 0.005
CUT = 1e-3  # of a plant that need not be cut


class Choice(NamedTuple):
    """A week in which a want may be stuck. units: that serve it whole; bench: the last week in
    which its flats stand on the propagation bench; grows: the first and the last in which its pots
    grow on; area: m² that they take for each unit stuck; off: weeks later (earlier: less than 0)
    than it had best be stuck."""

    week: int
    units: int
    bench: int
    grows: tuple[int, int]
    area: float
    off: float


@dataclass(frozen=True, slots=True)
class Want:
    """So many pots, of a kind of stock plant. pieces, minutes: that a unit takes; before: weeks
    that the plan before gave it; fixed: units by week that are settled; barred: weeks in which
    it is not to be stuck."""

    pots: int
    kind: int
    pieces: int
    minutes: float
    choices: tuple[Choice, ...]
    before: frozenset[int] = frozenset()
    fixed: Mapping[int, int] = field(default_factory=dict)
    barred: frozenset[int] = frozenset()

    def choice(self, week: int) -> Choice:
        return next(each for each in self.choices if each.week == week)

    def price(self, choice: Choice) -> float:
        """What a unit stuck in a week costs."""
        off = LATE * max(choice.off, 0) + EARLY * max(-choice.off, 0)
        moved = 0.0 if not self.before or choice.week in self.before else MOVED
        return (off + moved) * self.pots / choice.units


@dataclass(frozen=True, slots=True)
class Plants:
    """Plants that are alike: of a kind, each giving so many `pieces` at a cut and then resting for
    so many weeks, 1 at least. ready (weeks,): how many have rested from cuts before the plan; may:
    (weeks,) how many may be cut in it."""

    kind: int
    pieces: int
    rest: int
    watch: bool
    ready: Ints
    may: Ints


@dataclass(frozen=True, slots=True)
class Problem:
    """room: (weeks,) of each resource, what is left of it for the plan, inf where it is not
    limited; cells: (weeks,) of a flat; already: (weeks,) minutes that are planned anyway."""

    wants: Sequence[Want]
    plants: Sequence[Plants]
    room: Mapping[str, Floats]
    cells: Ints
    already: Floats

    @property
    def weeks(self) -> int:
        return len(self.cells)

    def flats(self, units: int, week: int) -> int:
        return -(-units // int(self.cells[week]))

    def use(self, want: Want, choice: Choice, units: int) -> dict[str, tuple[slice, float]]:
        """What so many units stuck in a week take of each resource: in which weeks, how much."""
        first, last = choice.grows
        return {
            FLATS: (
                slice(choice.week, choice.bench + 1),
                float(self.flats(units, choice.week)) if choice.bench >= choice.week else 0.0,
            ),
            MINUTES: (slice(choice.week, choice.week + 1), want.minutes * units),
            AREA: (slice(first, last + 1), choice.area * units),
        }


@dataclass(slots=True)
class Solution:
    """units: by want and week; cuts: how many plants of each group are cut, by group and week.
    bound: the least that any plan could cost, None where nobody has worked it out; done: whether
    none is better."""

    units: dict[tuple[int, int], int]
    cuts: dict[tuple[int, int], int]
    bound: float | None = None
    done: bool = False

    def used(self, problem: Problem) -> dict[str, Floats]:
        """(weeks,) of each resource what it takes."""
        total = {name: np.zeros(problem.weeks) for name in RESOURCES}
        for (n, week), units in self.units.items():
            want = problem.wants[n]
            for name, (weeks, amount) in problem.use(want, want.choice(week), units).items():
                total[name][weeks] += amount
        return total

    def served(self, problem: Problem, n: int) -> float:
        """The share of a want that its units serve, 1 at most."""
        choices = problem.wants[n].choices
        share = sum(self.units.get((n, each.week), 0) / each.units for each in choices)
        return min(share, 1.0)


def cost(problem: Problem, solution: Solution) -> float:
    """What a plan costs, worked out from it alone."""
    total = 0.0
    minutes = np.array(problem.already, dtype=float)
    for n, want in enumerate(problem.wants):
        total += SHORT * want.pots * (1 - solution.served(problem, n))
        for choice in want.choices:
            units = solution.units.get((n, choice.week), 0)
            total += want.price(choice) * units
            if choice.bench >= choice.week:
                total += FLAT * problem.flats(units, choice.week)
            minutes[choice.week] += want.minutes * units
    total += CUT * sum(solution.cuts.values())
    watched = watched_pieces(problem, solution)
    total += sum(watch_price(problem, kind) * pieces for (kind, _week), pieces in watched.items())
    return total + UNEVEN / 60 * float(np.abs(np.diff(minutes)).sum())


def watched_pieces(problem: Problem, solution: Solution) -> dict[tuple[int, int], int]:
    """Pieces that plants on watch have to give, by kind and week: what the sound ones don't."""
    needed: dict[tuple[int, int], int] = {}
    for (n, week), units in solution.units.items():
        key = problem.wants[n].kind, week
        needed[key] = needed.get(key, 0) + units * problem.wants[n].pieces
    for (g, week), count in solution.cuts.items():
        group = problem.plants[g]
        if not group.watch and (group.kind, week) in needed:
            needed[group.kind, week] -= count * group.pieces
    return {key: pieces for key, pieces in needed.items() if pieces > 0}


def watch_price(problem: Problem, kind: int) -> float:
    """What a piece costs that comes of a plant on watch."""
    a_piece = [
        want.pots / (choice.units * want.pieces)
        for want in problem.wants
        if want.kind == kind
        for choice in want.choices
    ]
    return WATCH * min(a_piece, default=0.0)
