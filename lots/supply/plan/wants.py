"""What each target still wants, how many units that takes in each week of a plan, and how likely
what was planned for it will do."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from lots.forecast.arrays import Floats, Ints
from lots.models import Method, Target
from lots.planning import enough, howmany
from lots.planning.enough import Lot
from lots.planning.howmany import TOLERANCE, Kind
from lots.supply.kinds import Like
from lots.supply.need import NO_MORE_THAN
from lots.supply.plan.horizon import Horizon

# A want may be stuck so many weeks before it had best be.
SOONEST = 16
# A week in which more than so many times the units are needed is too late.
TOO_MANY = 4.0
SEED = 815
SWEEPS = 2

# Units by the week in which they are stuck.
type Lots = dict[int, int]


@dataclass(slots=True)
class Wanted:
    """A target in a plan. sure: the chance with which it is to be met; as_is: the chance that it
    is by what is here and coming alone; needs: (draws,) pots that all but its own lots leave open;
    units: that would do in each week; best: the last week in which hardly more are needed than at
    any time, less than 0 where that is over; later: nothing has to be stuck for it within the plan;
    never: no number will do at whatever time."""

    target: Target
    sure: float
    needs: Ints = field(default_factory=lambda: np.zeros(1, dtype=np.intp))
    as_is: float = 0.0
    units: Lots = field(default_factory=dict)
    best: int = -1
    later: bool = False
    never: bool = False
    lot: Lot | None = None

    @property
    def served(self) -> bool:
        """Whether it needs no lots of its own."""
        return float((self.needs == 0).mean()) >= self.sure - TOLERANCE

    @property
    def certain(self) -> bool:
        """Whether it needs the same number in every draw."""
        return bool((self.needs == self.needs[0]).all())

    @property
    def assumed(self) -> Lots:
        """What is stuck for it if nothing stands in the way."""
        if self.served or not self.units:
            return {}
        week = max(self.best, min(self.units))
        return {week: self.units[week]}


@dataclass(slots=True)
class Series:
    """The targets of one variety and size, in the order of their days. supply: (draws, targets)
    pots that are there by each of the days; off: (draws,) what lots of a kind share; kinds,
    strikes: of a lot stuck in each week of the plan and the one after it, and its median days to
    striking. Without a method, or a licence, nothing can be stuck."""

    horizon: Horizon
    wants: list[Wanted]
    supply: Ints
    off: Floats
    method: Method | None = None
    like: Like | None = None
    kinds: list[Kind] = field(default_factory=list)
    strikes: list[float] = field(default_factory=list)

    def work_out(self, planned: Callable[[Wanted], Lots] | None = None) -> None:
        """Set on each want what it needs, and how many units that takes in each week, if the others
        are stuck as `planned`; else when they had best be."""
        self._as_is()
        made = [
            self._made(n, planned(want) if planned else {}) for n, want in enumerate(self.wants)
        ]

        def visit(n: int, want: Wanted) -> Lots:
            want.units, want.later = {}, False
            if not want.served and self.kinds:
                if want.lot is None:
                    rng = np.random.default_rng([SEED, n])
                    [want.lot] = enough.lots(self.kinds[0], self.off, 1, rng)
                self._units(want)
            return planned(want) if planned else want.assumed

        # At first nothing is known of those after it, whose first pots it may take.
        for _sweep in range(1 if planned or len(self.wants) == 1 else SWEEPS):
            self._sweep(made, visit, prudent=True)

    def tell(self, lots: Callable[[Wanted], Lots], told: Callable[[Wanted, Lots], None]) -> None:
        """Go through the wants once more with the lots that are planned for each."""
        made = [self._made(n, lots(want)) for n, want in enumerate(self.wants)]

        def visit(_n: int, want: Wanted) -> Lots:
            planned = lots(want)
            told(want, planned)
            return planned

        self._sweep(made, visit, prudent=False)

    def _as_is(self) -> None:
        """Set on each want the chance that what is here and coming will do, with nothing stuck."""
        taken = np.zeros(len(self.supply), dtype=np.intp)
        for n, want in enumerate(self.wants):
            left = np.maximum(self.supply[:, n] - taken, 0)
            want.as_is = float((left >= want.target.pots).mean())
            taken += np.minimum(left, want.target.pots)

    def _sweep(self, made: list[Ints], visit: Callable[[int, Wanted], Lots], prudent: bool) -> None:
        """Serve the wants in turn, each from all that is there by its day and that those before it
        left: the first day first, whichever target a pot was stuck for. A `prudent` want does not
        count on lots that are stuck for those after it, though it will take their pots. made:
        (draws, targets) of each want, pots of its own lots by each day; a visit says which lots
        these are."""
        total = self.supply + sum(made)
        taken = np.zeros(len(total), dtype=np.intp)
        for n, want in enumerate(self.wants):
            pots = want.target.pots
            # Less than nothing where those before it took of its own.
            counted = made[n:] if prudent else made[n : n + 1]
            others = total[:, n] - sum(of[:, n] for of in counted) - taken
            want.needs = np.maximum(pots - others, 0)
            own = self._made(n, visit(n, want))
            total += own - made[n]
            made[n] = own
            taken += np.minimum(np.maximum(total[:, n] - taken, 0), pots)

    def _made(self, n: int, lots: Lots) -> Ints:
        """(draws, targets) pots of a want's lots by each of the days."""
        want = self.wants[n]
        made = np.zeros_like(self.supply)
        if want.later:  # it will be stuck after the plan, and no more than it takes
            made[:, n:] = want.needs[:, None]
        for lot, (week, units) in zip(self._drawn(want, lots), lots.items(), strict=True):
            for day, other in enumerate(self.wants):
                made[:, day] += enough.made(lot, units, [self._chance(lot, week, other)])[0]
        return made

    def days_left(self, week: int, want: Wanted) -> int:
        """From the last day of a week, so that it holds whatever day of it a lot is stuck on."""
        return (want.target.wanted_by - self.horizon.last(week)).days

    def _chance(self, lot: Lot, week: int, want: Wanted) -> Floats:
        """(draws,) the chance of a unit stuck in a week to be there in time."""
        return enough.share(lot, self.kinds[0], self.kinds[week], self.days_left(week, want))

    def _units(self, want: Wanted) -> None:
        weeks = self.horizon.weeks

        def least(week: int) -> int | None:
            return enough.least_units(want.needs, self._chance(want.lot, week, want), want.sure)

        want.best = -1
        at_any_time = enough.share(want.lot, self.kinds[0], self.kinds[0], np.inf)
        most = enough.least_units(want.needs, at_any_time, want.sure)
        want.never = most is None
        if most is None:
            return
        after = least(weeks)
        want.later = after is not None and after <= NO_MORE_THAN * most
        for week in range(weeks - 1, -1, -1):
            if want.best - week > SOONEST:
                break
            # Well before the best week nothing changes but the season, and that slowly.
            if want.best - week > 2 and (want.best - week) % 4:
                want.units[week] = want.units[week + 1]
                continue
            units = least(week)
            if units is None or units > TOO_MANY * most:
                continue
            want.units[week] = units
            if want.best < 0 and units <= NO_MORE_THAN * most:
                want.best = week
        if want.later:
            want.units = {}
        elif want.certain and want.units:
            self._to_the_letter(want)

    def _to_the_letter(self, want: Wanted) -> None:
        """Where what it needs is certain, correct what the draws say by the exact answer."""
        week = max(want.best, min(want.units))
        of = howmany.chances(self.kinds[week], self.days_left(week, want))
        exact = of.least_units(int(want.needs[0]), want.sure)
        if exact:
            by = exact / want.units[week]
            want.units = {at: max(round(units * by), 1) for at, units in want.units.items()}

    def chance(self, want: Wanted, lots: Lots, needs: Ints | None = None) -> float:
        """The chance that a want is met by lots on top of what is here and coming; or that they
        make what it `needs` (draws,)."""
        needs = want.needs if needs is None else needs
        if not lots:
            return float((needs == 0).mean())
        if len(lots) == 1 and (needs == needs[0]).all():
            [(week, units)] = lots.items()
            of = howmany.chances(self.kinds[week], self.days_left(week, want))
            return of.at_least(int(needs[0]), units)
        drawn = [*zip(self._drawn(want, lots), lots.items(), strict=True)]
        for lot, (week, units) in drawn[:-1]:
            [pots] = enough.made(lot, units, [self._chance(lot, week, want)])
            needs = np.maximum(needs - pots, 0)
        lot, (week, units) = drawn[-1]
        return enough.reached(needs, units, self._chance(lot, week, want))

    def pots_sure(self, want: Wanted, lots: Lots) -> int:
        """The most of a want's pots that are there in time with the asked chance."""
        low, high = 0, want.target.pots
        while low < high:
            middle = (low + high + 1) // 2
            needs = np.maximum(want.needs - (want.target.pots - middle), 0)
            if self.chance(want, lots, needs) >= want.sure - TOLERANCE:
                low = middle
            else:
                high = middle - 1
        return low

    def _drawn(self, want: Wanted, lots: Lots) -> list[Lot]:
        """The lots of a want in every draw; the first is the one it was worked out with."""
        if not lots:
            return []
        first = [want.lot] if want.lot else []
        rng = np.random.default_rng(SEED + want.target.pk)
        return [*first, *enough.lots(self.kinds[0], self.off, len(lots) - len(first), rng)]
