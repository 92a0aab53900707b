"""How many units of a variety to stick, by when, and from which plants, for pots wanted by a day:
one question, asked of the newest fit."""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import NamedTuple

import numpy as np
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lots import outlook
from lots.forecast.bands import Z90
from lots.models import Method, PotSize, Variety
from lots.outlook.fits import Fits
from lots.planning import howmany
from lots.planning.howmany import Kind
from lots.stockplants import pieces
from lots.stockplants.pieces import Gift
from lots.supply import kinds
from lots.supply.kinds import Expected

CONFIDENCE = 0.9
# On the day to stick no more than so many times the units are needed that would do at any time.
NO_MORE_THAN = 1.1
SURE = (0.5, 0.7, 0.8, 0.9, 0.95, 0.99)  # of which the price is told
WEEKS = (-4, -2, 0, 1, 2, 3, 4)  # before and after the day, for which the chance is told
FARTHEST = 3 * 366  # days before the day wanted that are looked at


class Asked(NamedTuple):
    """So many pots of a size (None: whichever), of a variety by a method, finished by a day; `on`:
    the day to stick them, None for the latest that does."""

    variety: Variety
    method: Method
    want: int
    by: date
    pot_size: PotSize | None = None
    on: date | None = None
    confidence: float = CONFIDENCE


class Naive(NamedTuple):
    """The number wanted by the mean take, stuck the median days before, and its chance."""

    units: int
    chance: float
    stick_by: date


@dataclass(frozen=True, slots=True)
class Answer:
    """units: the fewest that reach the confidence, stuck on `stick_by`, None where none do, and
    `why`; chance: that they do; take: mean share of units, and what a lot's own stays below with 1
    and 9 in 10; days: to finish, with a chance of 10, 50 and 90 in 100; gifts: what stock plants
    give of its pieces, `short` what they don't; of_days: the same question on other days."""

    asked: Asked
    units: int | None
    pieces: int | None
    stick_by: date | None
    chance: float | None
    why: str
    naive: Naive
    take: tuple[float, float, float]
    days: tuple[int, int, int]
    gifts: list[Gift]
    short: int
    of_days: "Days"

    @property
    def lots(self) -> int:
        """Own lots behind it."""
        return self.of_days.behind

    @property
    def chance_in_100(self) -> int:
        return in_100(self.chance or 0.0)

    @property
    def naive_in_100(self) -> int:
        return in_100(self.naive.chance)

    @property
    def take_in_100(self) -> tuple[int, ...]:
        return tuple(round(100 * share) for share in self.take)


class Price(NamedTuple):
    """The chance of so many units, stuck on a day."""

    units: int
    day: date
    chance: float

    @property
    def in_100(self) -> int:
        return in_100(self.chance)


def in_100(chance: float) -> int:
    """A chance in 100, rounded down, so that nothing is told to be surer than it is."""
    return int(100 * chance + 1e-6)


def prices(found: Answer) -> tuple[list[Price], list[Price]]:
    """What other numbers of units would do on the day of an answer, that of dividing first, and
    what its number would do on other days."""
    days, day, last = found.of_days, found.stick_by, found.asked.by
    of = howmany.chances(days.kind(day), (last - day).days)
    told = {of.least_units(found.asked.want, chance) for chance in SURE} - {None}
    near = 1.05 * found.naive.units  # one as good as it says nothing more
    units = sorted(
        {found.naive.units, found.units} | {n for n in told if n > near or n < found.naive.units}
    )
    others = [day + timedelta(weeks=weeks) for weeks in WEEKS]
    return (
        [Price(n, day, of.at_least(found.asked.want, n)) for n in units],
        [
            Price(found.units, other, days.chance(other, found.units))
            for other in others
            if days.today <= other <= last
        ],
    )


def how_many(asked: Asked, today: date) -> Answer:
    """The answer as of a day, which is not after the one wanted."""
    days = Days(asked, outlook.stored_fit.newest(), today)
    day = asked.on or days.latest()
    units = days.units(day)
    why = "" if units else days.why_none(day)
    if not asked.variety.may_be_stuck:
        units, why = None, _("It is protected, and the book has no licence to propagate it.")
    kind = days.kind(day)
    of_pot = howmany.pot_chance(howmany.rate_quantiles(kind, (0.1, 0.9)), kind)
    needed = units * days.like.pieces if units else None
    gifts, short = pieces.gifts(asked.variety, needed or 0, day, today)
    return Answer(
        asked=asked,
        units=units,
        pieces=needed,
        stick_by=day if units else asked.on,
        chance=days.chance(day, units) if units else None,
        why=why,
        naive=days.naive(),
        take=(howmany.mean_pot_chance(kind), float(of_pot[0]), float(of_pot[1])),
        days=days.to_finish(day),
        gifts=gifts,
        short=short,
        of_days=days,
    )


class Days:
    """The same question on different days of sticking."""

    def __init__(self, asked: Asked, fits: Fits, today: date) -> None:
        self.asked, self.fits, self.today = asked, fits, today
        last = max(asked.by, asked.on or asked.by)
        self.first = max(today, asked.by - timedelta(days=FARTHEST))
        self.count = (last - self.first).days + 1
        self._units: dict[date, int | None] = {}
        [self.like] = kinds.likes([(asked.variety, asked.method, asked.pot_size)])

    @cached_property
    def _expected(self) -> Expected:
        """Of a lot of each day of sticking from the first on."""
        days = (self.first + timedelta(days=n) for n in range(self.count))
        return kinds.expected(self.fits, [(self.like, day) for day in days])

    @property
    def behind(self) -> int:
        """Own lots of its kind that the fit has learned the take from."""
        return self._expected.behind[0]

    def kind(self, day: date) -> Kind:
        """What lots stuck on a day are like; one before the first is like that."""
        return self._expected.kinds[max((day - self.first).days, 0)]

    def units(self, day: date) -> int | None:
        if day not in self._units:
            left = (self.asked.by - day).days
            of = howmany.chances(self.kind(day), left)
            self._units[day] = of.least_units(self.asked.want, self.asked.confidence)
        return self._units[day]

    def at_any_time(self, day: date) -> int | None:
        """The fewest units stuck on a day that would do if time were no limit."""
        return howmany.chances(self.kind(day)).least_units(self.asked.want, self.asked.confidence)

    def in_time(self, day: date) -> bool:
        units, enough = self.units(day), self.at_any_time(day)
        return bool(units and enough and units <= NO_MORE_THAN * enough)

    def latest(self) -> date:
        """The latest day on which hardly more units are needed than if time were no limit; the
        first of all where it is too late for that."""
        low, high = 0, self.count
        while high - low > 1:
            middle = (low + high) // 2
            if self.in_time(self.first + timedelta(days=middle)):
                low = middle
            else:
                high = middle
        return self.first + timedelta(days=low)

    def chance(self, day: date, units: int) -> float:
        of = howmany.chances(self.kind(day), (self.asked.by - day).days)
        return of.at_least(self.asked.want, units)

    def to_finish(self, day: date) -> tuple[int, int, int]:
        kind = self.kind(day)
        z = np.array([-1.0, 0.0, 1.0]) * Z90
        low, middle, high = np.rint(np.exp(kind.log_days + kind.log_days_sd * z)).astype(int)
        return int(low), int(middle), int(high)

    def naive(self) -> Naive:
        """Whatever day is asked for: by the take and the days of lots stuck on the day itself."""
        day = self.asked.by
        for _step in range(3):  # each time by the season of the day it came out at
            day = self.asked.by - timedelta(days=self.to_finish(day)[1])
        mean = howmany.mean_pot_chance(self.kind(day))
        units = min(math.ceil(self.asked.want / max(mean, 1e-9)), howmany.MOST_UNITS)
        return Naive(units, self.chance(day, units), day)

    def why_none(self, day: date) -> str:
        """Why no number will do on a day."""
        if self.at_any_time(day) is None:
            return _("So few take that no number is sure enough.")
        days = self.to_finish(day)[1]
        return _(
            "Stuck on %(day)s it is too late: such lots need about %(days)s days, and there are "
            "%(left)s."
        ) % {"day": date_format(day), "days": days, "left": max((self.asked.by - day).days, 0)}
