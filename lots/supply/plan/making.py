"""The plan: read the book, solve, and say what comes of it."""

import time
from collections import defaultdict
from datetime import date
from functools import partial

import numpy as np

from lots.models import StockPlant
from lots.planning import solving
from lots.planning.highs import Progress, gap
from lots.planning.howmany import TOLERANCE
from lots.planning.problem import AREA, FLATS, MINUTES, Solution, Want
from lots.supply.plan import plants
from lots.supply.plan.reading import Before, Posed, Reading, pose, read
from lots.supply.plan.short import why
from lots.supply.plan.told import Line, Load, Met, Planned, Short, WeekLoad
from lots.supply.plan.wants import Lots, Series, Wanted

WEEKS, SECONDS = 26, 5.0
# So often at most what is needed is worked out anew from what was planned.
ROUNDS = 3
# The share of the time that is left for the first of several rounds.
FIRST = 0.6
# What a chance worked out by draws may be off (one standard error of DRAWS at 0.9).
NEARLY = 0.01


def make(
    today: date,
    weeks: int = WEEKS,
    seconds: float = SECONDS,
    before: Before | None = None,
    progress: Progress | None = None,
) -> Planned:
    """The sticking plan of so many weeks for all open targets; solving takes so many `seconds` at
    most. Raises NoConvergence where the book of a day that is over can't be fitted."""
    began = time.perf_counter()
    reading = read(today, weeks, before)
    for series in reading.series:
        series.work_out()
    posed = pose(reading)
    for left in range(ROUNDS - 1, -1, -1):
        started = time.perf_counter()
        share = FIRST if left else 1.0
        solution = solving.solve(posed.problem, share * seconds, progress)
        seconds = max(seconds - (time.perf_counter() - started), 0.0)
        telling = _Telling(reading, posed, solution)
        if not left or telling.holds():
            break
        for series in reading.series:
            series.work_out(telling.lots)
        posed = pose(reading)
    return telling.planned(began)


class _Telling:
    """What a solution says of the book."""

    def __init__(self, reading: Reading, posed: Posed, solution: Solution) -> None:
        self.reading, self.problem, self.solution = reading, posed.problem, solution
        self.number = {id(want): n for n, (_series, want) in enumerate(posed.wants)}
        self.stock = self._stock()

    def holds(self) -> bool:
        """Whether all that the solution serves whole is met with the asked chance. It may not be
        where one before it turned out otherwise than was taken."""
        held = True

        def told(series: Series, want: Wanted, lots: Lots) -> None:
            nonlocal held
            if self._whole(want) and series.chance(want, lots) < want.sure - NEARLY:
                held = False

        for series in self.reading.series:
            series.tell(self.lots, partial(told, series))
        return held

    def planned(self, began: float) -> Planned:
        reading = self.reading
        lines: list[Line] = []
        met: list[Met] = []
        short: list[Short] = []
        later = []
        for series in reading.series:

            def told(series: Series, want: Wanted, lots: Lots) -> None:
                chance = series.chance(want, lots)
                lines.extend(self._line(series, want, week, lots[week], chance) for week in lots)
                whole = self._whole(want)
                if chance >= want.sure - (NEARLY if whole and not want.certain else TOLERANCE):
                    met.append(Met(want.target, chance, want.as_is))
                elif want.later:
                    later.append(want.target)
                else:
                    short.append(self._short(series, want, lots, chance))

            series.tell(self.lots, partial(told, series))
        lines.sort(key=lambda line: (line.week, line.target.wanted_by, str(line.target.variety)))
        return Planned(
            reading.horizon,
            self.solution.done,
            gap(self.problem, self.solution),
            time.perf_counter() - began,
            self._weeks(),
            lines,
            *(sorted(some, key=lambda one: _day(one.target)) for some in (met, short)),
            sorted(later, key=_day),
        )

    def lots(self, want: Wanted) -> Lots:
        n = self.number.get(id(want))
        units = self.solution.units
        if n is None:
            return {}
        return {week: count for (of, week), count in sorted(units.items()) if of == n}

    def _whole(self, want: Wanted) -> bool:
        n = self.number.get(id(want))
        return n is not None and self.solution.served(self.problem, n) > 1 - 1e-9

    def _line(self, series, want: Wanted, week: int, units: int, chance: float) -> Line:
        n, horizon = self.number[id(want)], self.reading.horizon
        of: Want = self.problem.wants[n]
        return Line(
            week=horizon.starts(week),
            target=want.target,
            method=series.method,
            units=units,
            pieces=units * of.pieces,
            flats=self.problem.flats(units, week),
            bench=horizon.starts(of.choice(week).bench),
            minutes=units * of.minutes,
            chance=chance,
            stock=self.stock.get((n, week), []),
        )

    def _short(self, series, want: Wanted, lots: Lots, chance: float) -> Short:
        missing = want.target.pots - series.pots_sure(want, lots)
        n = self.number.get(id(want))
        limit, lift = why(self.reading, self.problem, self.solution, series, want, n)
        return Short(want.target, max(missing, 1), limit, lift, chance, want.as_is)

    def _weeks(self) -> list[WeekLoad]:
        reading, horizon = self.reading, self.reading.horizon
        used = self.solution.used(self.problem)

        def load(name: str, week: int) -> Load:
            most = float(reading.room.limit[name][week])
            standing = float(reading.room.standing[name][week])
            return Load(standing, float(used[name][week]), most if np.isfinite(most) else None)

        return [
            WeekLoad(
                horizon.starts(week),
                *(load(name, week) for name in (FLATS, MINUTES, AREA)),
            )
            for week in range(horizon.weeks)
        ]

    def _stock(self) -> dict[tuple[int, int], list[tuple[StockPlant, int]]]:
        """Pieces by plant, for each want and week: the sound ones first."""
        reading, problem = self.reading, self.problem
        cut: dict[tuple[int, int], list[tuple[StockPlant, int]]] = defaultdict(list)
        order = sorted(range(len(reading.groups)), key=lambda g: problem.plants[g].watch)
        for g in order:
            group = reading.groups[g]
            counts = {week: n for (of, week), n in self.solution.cuts.items() if of == g}
            for week, some in plants.cut_by_plant(group, counts).items():
                cut[group.numbers.kind, week] += [(plant, group.numbers.pieces) for plant in some]
        found: dict[tuple[int, int], list[tuple[StockPlant, int]]] = defaultdict(list)
        for (n, week), units in sorted(self.solution.units.items()):
            want = problem.wants[n]
            needed, left = units * want.pieces, cut[want.kind, week]
            while needed and left:
                plant, pieces = left.pop(0)
                given = min(pieces, needed)
                found[n, week].append((plant, given))
                needed -= given
                if pieces > given:
                    left.insert(0, (plant, pieces - given))
        return found


def _day(target) -> tuple[date, int]:
    return target.wanted_by, target.pk
