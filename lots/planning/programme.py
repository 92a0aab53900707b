"""The sticking plan as an integer programme.

Variables: units of each want by week, the flats they fill, the plants of each group cut by week,
pots short of each want, and by how many minutes weeks differ.
"""

from collections.abc import Iterable, Iterator

import highspy
import numpy as np
import scipy

from lots.forecast.arrays import Floats
from lots.planning.problem import (
    AREA,
    CUT,
    FLAT,
    FLATS,
    MINUTES,
    SHORT,
    STOCK,
    UNEVEN,
    Problem,
    Solution,
    watch_price,
    watched_pieces,
)

# (weeks,) of each resource, what one flat, minute or m² of it is worth.
type Prices = dict[str, Floats]
# What one more of each costs when it is asked what would lift a limit: dear, so that it is as
# little as will do.
RAISE = {FLATS: 1000.0, MINUTES: 30.0, AREA: 1000.0, STOCK: 100.0}


class Rows:
    """The rows of a programme, gathered one by one."""

    def __init__(self) -> None:
        self.at: list[tuple[int, int, float]] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, terms: list[tuple[int, float]], low: float, high: float) -> None:
        self.at += [(len(self.low), column, value) for column, value in terms]
        self.low.append(low)
        self.high.append(high)


class Programme:
    """The variables and rows of a problem. `units`, `flats`, `cuts`, `short` say which column a
    thing has, `limits` which row holds a resource in a week, `pieces` the
    pieces of a kind; `watched` the column of pieces of plants on watch."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.limits: dict[tuple[str, int], int] = {}
        self.pieces: dict[tuple[int, int], int] = {}
        self.watched: dict[tuple[int, int], int] = {}
        self.price: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.whole: list[bool] = []
        self.rows = Rows()
        self.units: dict[tuple[int, int], int] = {}
        self.flats: dict[tuple[int, int], int] = {}
        self.cuts: dict[tuple[int, int], int] = {}
        self.short: list[int] = []
        self._wants()
        self._plants()
        self._resources()
        self._level()

    def column(self, price: float, high: float, whole: bool, low: float = 0.0) -> int:
        self.price.append(price)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.price) - 1

    def _wants(self) -> None:
        for n, want in enumerate(self.problem.wants):
            terms = []
            for choice in want.choices:
                settled = float(want.fixed.get(choice.week, 0))
                most = 0.0 if choice.week in want.barred else float(choice.units)
                low, high = (settled, settled) if settled else (0.0, most)
                units = self.column(want.price(choice), high, True, low)
                self.units[n, choice.week] = units
                terms.append((units, want.pots / choice.units))
                if choice.bench >= choice.week:
                    flats = self.column(FLAT, np.inf, True)
                    self.flats[n, choice.week] = flats
                    cells = float(self.problem.cells[choice.week])
                    self.rows.add([(flats, cells), (units, -1.0)], 0.0, np.inf)
            short = self.column(SHORT, float(want.pots), False)
            self.short.append(short)
            self.rows.add([*terms, (short, 1.0)], float(want.pots), np.inf)

    def _plants(self) -> None:
        problem = self.problem
        gives: dict[tuple[int, int], list[tuple[int, float]]] = {}
        for g, group in enumerate(problem.plants):
            for week in range(problem.weeks):
                if group.may[week]:
                    column = self.column(CUT, float(group.may[week]), True)
                    self.cuts[g, week] = column
                    if group.watch:
                        column = self._watched(g, week, column)
                    gives.setdefault((group.kind, week), []).append(
                        (column, 1.0 if group.watch else float(group.pieces))
                    )
            for week in range(problem.weeks):
                resting = [
                    (self.cuts[g, cut], 1.0)
                    for cut in range(max(week - group.rest + 1, 0), week + 1)
                    if (g, cut) in self.cuts
                ]
                # One cut alone is held by its own bound.
                if len(resting) > 1 or (resting and group.ready[week] < group.may[week]):
                    self.rows.add(resting, -np.inf, float(group.ready[week]))
        takes: dict[tuple[int, int], list[tuple[int, float]]] = {}
        for (n, week), column in self.units.items():
            want = problem.wants[n]
            takes.setdefault((want.kind, week), []).append((column, -float(want.pieces)))
        for key, terms in takes.items():
            self.pieces[key] = len(self.rows.low)
            self.rows.add([*terms, *gives.get(key, [])], 0.0, np.inf)

    def _watched(self, g: int, week: int, cuts: int) -> int:
        """The column of pieces that plants on watch give, no more than cutting them gives."""
        group = self.problem.plants[g]
        pieces = self.column(watch_price(self.problem, group.kind), np.inf, False)
        self.rows.add([(cuts, float(group.pieces)), (pieces, -1.0)], 0.0, np.inf)
        self.watched[g, week] = pieces
        return pieces

    def _resources(self) -> None:
        problem = self.problem
        used: dict[tuple[str, int], list[tuple[int, float]]] = {}
        for column, name, weeks, amount in self.uses():
            for week in range(problem.weeks)[weeks]:
                if np.isfinite(problem.room[name][week]):
                    used.setdefault((name, week), []).append((column, amount))
        for (name, week), terms in used.items():
            self.limits[name, week] = len(self.rows.low)
            self.rows.add(terms, -np.inf, max(float(problem.room[name][week]), 0.0))

    def uses(self) -> Iterator[tuple[int, str, slice, float]]:
        """What one of each column takes: the column, the resource, the weeks, how much in each."""
        for (n, week), column in self.units.items():
            want = self.problem.wants[n]
            for name, (weeks, amount) in self.problem.use(want, want.choice(week), 1).items():
                if amount > 0:
                    yield self.flats[n, week] if name == FLATS else column, name, weeks, amount

    def charge(self, prices: Prices) -> None:
        """Let what is limited cost so much in place of being level."""
        for column, name, weeks, amount in self.uses():
            self.price[column] += amount * float(prices[name][weeks].sum())
        for pair in self.uneven.values():
            for column in pair:
                self.price[column] = 0.0

    def at_a_price(self, limits: Iterable[str]) -> dict[tuple[str, int], int]:
        """Let there be more of some limits, at a price; the column of how much of each, by
        limit and week."""
        more = {}
        for (name, week), row in self.limits.items():
            if name in limits:
                column = self.column(RAISE[name], np.inf, name == FLATS)
                self.rows.at.append((row, column, -1.0))
                more[name, week] = column
        for (_kind, week), row in self.pieces.items():
            if STOCK in limits:
                column = self.column(RAISE[STOCK], np.inf, False)
                self.rows.at.append((row, column, 1.0))
                more[STOCK, week] = column
        return more

    def _level(self) -> None:
        """Minutes more or less than in the week before, as differences of both signs."""
        by_week: dict[int, list[tuple[int, float]]] = {}
        for (n, week), column in self.units.items():
            by_week.setdefault(week, []).append((column, self.problem.wants[n].minutes))
        already = self.problem.already
        self.uneven: dict[int, tuple[int, int]] = {}
        for week in range(1, self.problem.weeks):
            more, less = (self.column(UNEVEN / 60, np.inf, False) for _sign in range(2))
            self.uneven[week] = more, less
            terms = by_week.get(week, []) + [(c, -v) for c, v in by_week.get(week - 1, [])]
            gap = float(already[week - 1] - already[week])
            self.rows.add([*terms, (more, -1.0), (less, 1.0)], gap, gap)

    def model(self) -> highspy.HighsLp:
        rows = self.rows
        at = np.array([each[:2] for each in rows.at], dtype=np.int32).reshape(-1, 2)
        matrix = scipy.sparse.csc_matrix(
            ([each[2] for each in rows.at], (at[:, 0], at[:, 1])),
            shape=(len(rows.low), len(self.price)),
        )
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.price), len(rows.low)
        lp.col_cost_ = np.array(self.price)
        lp.col_lower_, lp.col_upper_ = np.array(self.low), np.array(self.high)
        lp.row_lower_, lp.row_upper_ = np.array(rows.low), np.array(rows.high)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = matrix.indptr
        lp.a_matrix_.index_ = matrix.indices
        lp.a_matrix_.value_ = matrix.data
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        return lp

    def values(self, solution: Solution) -> Floats:
        """(columns,) a plan as the programme's columns."""
        problem = self.problem
        found = np.zeros(len(self.price))
        minutes = np.array(problem.already, dtype=float)
        for key, units in solution.units.items():
            found[self.units[key]] = units
            minutes[key[1]] += problem.wants[key[0]].minutes * units
            if key in self.flats:
                found[self.flats[key]] = problem.flats(units, key[1])
        for key, count in solution.cuts.items():
            found[self.cuts[key]] = count
        asked = watched_pieces(problem, solution)
        for (g, week), column in self.watched.items():
            group = problem.plants[g]
            most = group.pieces * solution.cuts.get((g, week), 0)
            found[column] = min(most, asked.get((group.kind, week), 0))
            if found[column]:
                asked[group.kind, week] -= int(found[column])
        for n, want in enumerate(problem.wants):
            found[self.short[n]] = want.pots * (1 - solution.served(problem, n))
        for week, (more, less) in self.uneven.items():
            change = minutes[week] - minutes[week - 1]
            found[more], found[less] = max(change, 0.0), max(-change, 0.0)
        return found

    def solution(self, values: Floats) -> Solution:
        """A plan from the programme's columns."""

        def whole(columns: dict[tuple[int, int], int]) -> dict[tuple[int, int], int]:
            found = {key: round(float(values[column])) for key, column in columns.items()}
            return {key: count for key, count in found.items() if count}

        return Solution(whole(self.units), whole(self.cuts))
