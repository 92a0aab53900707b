"""From the book to a problem: what is wanted, what serves it, what it takes, and the room."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from lots import outlook
from lots.models import Lot, Method, Stage, Variety, Wish
from lots.models.lot import STANDING
from lots.outlook import changes, facts, finishing, fits
from lots.outlook.calendar import Kind as Sort
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.rows import row_of
from lots.planning import enough
from lots.planning.problem import MINUTES, Choice, Problem, Want
from lots.snapshot import snapshot
from lots.supply import wanted
from lots.supply.kinds import Like, expected, likes
from lots.supply.plan import plants, room
from lots.supply.plan.horizon import Horizon
from lots.supply.plan.plants import Group
from lots.supply.plan.room import Room
from lots.supply.plan.supply import supply
from lots.supply.plan.wants import Series, Wanted

# The weeks, by their Mondays, that the plan before gave a target, by its key and its day.
type Before = Mapping[tuple[int, date], set[date]]


@dataclass(frozen=True, slots=True)
class Reading:
    """The book as a plan sees it: the targets by variety and size, stock plants, the room of the
    weeks, minutes a piece by method, what is settled, and what the plan before said."""

    horizon: Horizon
    series: list[Series]
    varieties: list[int]
    groups: list[Group]
    room: Room
    minutes: Mapping[int, float]
    wishes: list[Wish]
    before: Before


@dataclass(frozen=True, slots=True)
class Posed:
    """A problem, and of which want of the book each of its wants is."""

    problem: Problem
    wants: list[tuple[Series, Wanted]]


def read(today: date, weeks: int, before: Before | None = None) -> Reading:
    """Read the book as it stands, or as it was seen up to a day that is over. Raises NoConvergence
    where the book of that day can't be fitted."""
    horizon = Horizon(today, weeks)
    with snapshot():
        fitted, known = _known(horizon)
        series = _series(horizon, fitted, known)
        varieties = list(dict.fromkeys(each.wants[0].target.variety_id for each in series))
        return Reading(
            horizon,
            series,
            varieties,
            plants.groups(horizon, varieties),
            room.room(horizon, fitted, known),
            room.pace(),
            list(Wish.objects.all()),
            before or {},
        )


def pose(reading: Reading) -> Posed:
    """The problem of all wants that need something, as they were worked out."""
    posed, wants = [], []
    for series in reading.series:
        kind = reading.varieties.index(series.wants[0].target.variety_id)
        for want in series.wants:
            if want.units and not want.served:
                posed.append((series, want))
                wants.append(_want(reading, series, want, kind))
    problem = Problem(
        wants,
        [group.numbers for group in reading.groups],
        reading.room.left,
        reading.room.cells,
        reading.room.standing[MINUTES],
    )
    return Posed(problem, posed)


def _known(horizon: Horizon) -> tuple[Fits, list[Facts]]:
    """The fit, and the lots that stand or are planned, those as if stuck on their day."""
    day = horizon.today
    if day >= timezone.localdate():
        fitted = outlook.stored_fit.newest()
        known = facts.standing(Lot.objects.filter(stage__in=[Stage.PLANNED, *STANDING]))
    else:
        then = list(facts.as_of(Lot.objects.filter(stuck_on__lte=day), day))
        fitted = fits.fit(then, finishing.spread(then, day), changes.noted(day))
        known = facts.as_of(Lot.objects.exclude(stage=Stage.NOT_STUCK), day)
    return fitted, [lot if lot.stuck_on else room.as_planned(lot, day) for lot in known]


def _series(horizon: Horizon, fitted: Fits, known: list[Facts]) -> list[Series]:
    targets = wanted.wanted(horizon.today)
    by_sort: dict[Sort, list[Wanted]] = {}
    for target, sure in zip(targets, wanted.sure(targets), strict=True):
        sort = Sort(target.variety_id, target.pot_size_id)
        by_sort.setdefault(sort, []).append(Wanted(target, sure))
    off = enough.common()
    days = {sort: [want.target.wanted_by for want in wants] for sort, wants in by_sort.items()}
    varieties = {sort.variety for sort in by_sort}
    some = [lot for lot in known if lot.variety in varieties]
    serving = supply(fitted, some, days, horizon.today, off)
    series = [Series(horizon, wants, serving[sort], off) for sort, wants in by_sort.items()]
    _expect(horizon, fitted, series)
    return series


def _expect(horizon: Horizon, fitted: Fits, series: list[Series]) -> None:
    """Set on each series its method and what a lot of each week is like."""
    able = []
    methods = Methods()
    for each in series:
        target = each.wants[0].target
        each.method = methods.usual(target.variety)
        if each.method and target.variety.may_be_stuck:
            able.append(each)
    asked = [(e.wants[0].target.variety, e.method, e.wants[0].target.pot_size) for e in able]
    weeks = range(horizon.weeks + 1)
    lots: list[tuple[Like, date]] = []
    for each, like in zip(able, likes(asked), strict=True):
        each.like = like
        lots += [(like, horizon.last(week)) for week in weeks]
    if not lots:
        return
    found, per = expected(fitted, lots), len(weeks)
    for n, each in enumerate(able):
        each.kinds = found.kinds[n * per : (n + 1) * per]
        each.strikes = found.strikes[n * per : (n + 1) * per]


class Methods:
    """By which method a variety is stuck: as last time, else as its crop group was last, else as
    the handbook has a line for, else by the first of the book."""

    def __init__(self) -> None:
        self.all = {method.pk: method for method in Method.objects.all()}
        stuck = Lot.objects.filter(stuck_on__isnull=False).order_by("stuck_on", "pk")
        rows = list(stuck.values_list("variety", "variety__group", "method"))
        self.of_variety = {variety: method for variety, _group, method in rows}
        self.of_group = {group: method for _variety, group, method in rows}

    def usual(self, variety: Variety) -> Method | None:
        known = self.of_variety.get(variety.pk) or self.of_group.get(variety.group_id)
        if known:
            return self.all[known]
        fitting = [
            method
            for method in self.all.values()
            if variety.group.roots_like and not row_of(variety.group, method).fallback
        ]
        return next(iter(fitting or self.all.values()), None)


def _want(reading: Reading, series: Series, want: Wanted, kind: int) -> Want:
    horizon, target = series.horizon, want.target
    pieces = series.like.pieces
    which = target.which
    own = [wish for wish in reading.wishes if (wish.target_id, wish.wanted_by) == which]
    pinned = {horizon.of(wish.week): wish.units for wish in own if not wish.barred}
    barred = {horizon.of(wish.week) for wish in own if wish.barred}
    # Pinned without a number: in that week or not at all.
    if any(units is None for units in pinned.values()):
        barred |= set(want.units) - set(pinned)
    choices = []
    for week, units in sorted(want.units.items()):
        of = series.kinds[week]
        bench = horizon.after(week, series.strikes[week])
        finish = horizon.after(week, math.exp(of.log_days))
        a_unit = float(enough.share(want.lot, series.kinds[0], of, math.inf).mean())
        area = a_unit * room.area_m2(float(target.pot_size.diameter_cm))
        choices.append(Choice(week, units, bench, (bench + 1, finish), area, week - want.best))
    return Want(
        target.pots,
        kind,
        pieces,
        pieces * reading.minutes[series.method.pk],
        tuple(choices),
        frozenset(horizon.of(monday) for monday in reading.before.get(which, ())),
        {week: units for week, units in pinned.items() if units and week in want.units},
        frozenset(barred),
    )
