"""A plan that is good and quick: each want in turn, the most urgent first, goes into the weeks that
suit it best and still have room. The integer programme starts from it."""

import numpy as np

from lots.forecast.arrays import Floats, Ints
from lots.planning.problem import FLATS, RESOURCES, Choice, Plants, Problem, Solution, Want


def plan(problem: Problem) -> Solution:
    """A plan that keeps every limit; settled units go first."""
    return _Greedy(problem).plan()


class _Greedy:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.room = {name: np.array(problem.room[name], dtype=float) for name in RESOURCES}
        self.cuts = [np.zeros(problem.weeks, dtype=np.intp) for _group in problem.plants]
        kinds = {want.kind for want in problem.wants}
        self.over = {kind: np.zeros(problem.weeks, dtype=np.intp) for kind in kinds}
        self.of_kind: dict[int, list[int]] = {kind: [] for kind in kinds}
        # Sound ones first, and of those that give more.
        order = sorted(
            range(len(problem.plants)),
            key=lambda g: (problem.plants[g].watch, -problem.plants[g].pieces),
        )
        for g in order:
            self.of_kind.setdefault(problem.plants[g].kind, []).append(g)
        self.units: dict[tuple[int, int], int] = {}

    def plan(self) -> Solution:
        wants = list(enumerate(self.problem.wants))
        for n, want in wants:
            for choice in want.choices:
                if settled := want.fixed.get(choice.week, 0):
                    self.stick(n, want, choice, settled)
        for n, want in sorted(wants, key=lambda each: urgency(each[1])):
            left = 1 - sum(
                self.units.get((n, choice.week), 0) / choice.units for choice in want.choices
            )
            for choice in sorted(want.choices, key=want.price):
                if left <= 1e-9:
                    break
                if choice.week in want.barred or choice.week in want.fixed:
                    continue
                stuck = self.stick(n, want, choice, int(np.ceil(left * choice.units - 1e-9)))
                left -= stuck / choice.units
        cuts = {
            (g, week): int(count)
            for g, weeks in enumerate(self.cuts)
            for week, count in enumerate(weeks)
            if count
        }
        return Solution(self.units, cuts)

    def stick(self, n: int, want: Want, choice: Choice, units: int) -> int:
        """Stick as many of so many units in a week as there is room for; how many that were."""
        units = min(units, self.fit(want, choice))
        pieces = units * want.pieces
        units = min(units, self.cut(want.kind, choice.week, pieces) // want.pieces)
        if units <= 0:
            return 0
        self.over[want.kind][choice.week] -= units * want.pieces
        for name, (weeks, amount) in self.problem.use(want, choice, units).items():
            self.room[name][weeks] -= amount
        self.units[n, choice.week] = units
        return units

    def fit(self, want: Want, choice: Choice) -> int:
        """Units for which a week's resources have room."""
        most = choice.units
        for name, (weeks, amount) in self.problem.use(want, choice, 1).items():
            if amount <= 0:
                continue
            left = _least(self.room[name][weeks])
            if name == FLATS:
                left = np.floor(left + 1e-9) * self.problem.cells[choice.week]
                amount = 1.0
            most = min(most, int(min(max(left / amount + 1e-9, 0), most)))
        return most

    def cut(self, kind: int, week: int, pieces: int) -> int:
        """Cut plants until so many pieces are there in a week; how many there are."""
        over = self.over[kind]
        for g in self.of_kind[kind]:
            group = self.problem.plants[g]
            while over[week] < pieces and self.may_cut(group, self.cuts[g], week):
                self.cuts[g][week] += 1
                over[week] += group.pieces
        return int(over[week])

    def may_cut(self, group: Plants, cuts: Ints, week: int) -> bool:
        """Whether one more can be cut, and rest before and after."""
        if cuts[week] >= group.may[week]:
            return False
        for last in range(week, min(week + group.rest, self.problem.weeks)):
            if cuts[max(last - group.rest + 1, 0) : last + 1].sum() >= group.ready[last]:
                return False
        return True


def urgency(want: Want) -> tuple[float, int]:
    """The week in which a want had best be stuck, and how few may serve it."""
    best = min((choice.week - choice.off for choice in want.choices), default=np.inf)
    return float(best), len(want.choices)


def _least(room: Floats) -> float:
    return float(room.min()) if len(room) else np.inf
