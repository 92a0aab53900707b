"""What the nursery's own lots say, fitted: everything that a forecast needs."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from lots import formats
from lots.forecast import durations, residuals, store, takes
from lots.forecast.arrays import Floats
from lots.forecast.lotrows import MOVED_SD, Lots, pick
from lots.forecast.weeks import SPREAD
from lots.outlook import changes, sizes
from lots.outlook.changes import Change
from lots.outlook.facts import Facts
from lots.outlook.finishing import InPot, in_pot, survival
from lots.outlook.rows import Interval, Rows, UsualPots, rows_of, usual_pots, with_lateness
from lots.outlook.sizes import UsualSizes, usual_sizes

# What brings a kept fit of an older format forward (see `lots.formats`).
STEPS: tuple[formats.Step, ...] = (
    # The first knew neither which pots lots went into nor how long they are in them.
    lambda data: (
        data | {"format": 2} | {"sizes": sizes.dump(usual_sizes([])), "in_pot": asdict(in_pot([]))}
    ),
    lambda data: _with_nothing_moved(data),
    # The third knew of no change that somebody noted.
    lambda data: data | {"format": 4, "changes": []},
    lambda data: _with_nothing_of_their_own(data),
)


@dataclass(frozen=True, slots=True)
class Fits:
    """The three models; the pots (their width, their size) that are usual where a lot's own aren't
    known yet; `spread` of the finishing of single pots inside a lot (standard deviation of log
    days); `survival`, the share of pots made that finish; how much of the way is made `in_pot`;
    the `changes` of the nursery that somebody noted."""

    struck: durations.Fit
    finished: durations.Fit
    take: takes.Fit
    pots: UsualPots
    sizes: UsualSizes
    spread: float
    survival: float
    in_pot: InPot
    changes: tuple[Change, ...] = ()

    def rows(self, lots: Sequence[Facts]) -> Rows:
        """The arrays of lots to be forecast."""
        return with_lateness(rows_of(lots, self.pots, self.changes), self.struck)

    def survival_of(self, lots: Sequence[Facts]) -> Floats:
        """The share of pots to come that gets there; those of direct-stuck lots are its take."""
        return np.array([1.0 if lot.direct else self.survival for lot in lots], dtype=float)

    @property
    def lots_behind(self) -> dict[str, int]:
        """How many lots each model has learned from."""
        models = {"struck": self.struck, "finished": self.finished, "take": self.take}
        return {name: int(model.known.group_lots.sum()) for name, model in models.items()}


def fit(
    lots: Sequence[Facts],
    spread: float = float(SPREAD[0]),
    noted: Sequence[Change] = (),
) -> Fits:
    """Fit all of it, with a step at each change that was noted. With no lots it is the handbook's.
    Raises NoConvergence."""
    pots = usual_pots(lots)
    rows = rows_of(lots, pots, noted)
    struck = _fit_days(rows.struck, rows.struck_interval, rows.struck_informs)
    rows = with_lateness(rows, struck)
    finished = _fit_days(rows.finished, rows.finished_interval, rows.finished_informs)
    bounds = rows.take_bounds
    take = takes.fit(rows.take, bounds.units, bounds.least, bounds.most)
    return Fits(
        struck,
        finished,
        take,
        pots,
        usual_sizes(lots),
        spread,
        survival(lots),
        in_pot(lots),
        tuple(noted),
    )


def dump(fits: Fits) -> dict[str, Any]:
    """Fits as nested dictionaries of lists, numbers and strings, fit for JSON."""
    return {
        "format": len(STEPS) + 1,
        "struck": store.dump(fits.struck),
        "finished": store.dump(fits.finished),
        "take": store.dump(fits.take),
        "pots": asdict(fits.pots),
        "sizes": sizes.dump(fits.sizes),
        "spread": fits.spread,
        "survival": fits.survival,
        "in_pot": asdict(fits.in_pot),
        "changes": changes.dump(fits.changes),
    }


def load(data: dict[str, Any]) -> Fits:
    """What `dump`, of this version or an older one, made the data of. Raises ValueError, KeyError
    or TypeError for what it didn't."""
    data = formats.bring_forward(data, STEPS)
    return Fits(
        store.load(durations.Fit, data["struck"]),
        store.load(durations.Fit, data["finished"]),
        store.load(takes.Fit, data["take"]),
        UsualPots(**data["pots"]),
        sizes.load(data["sizes"]),
        data["spread"],
        data["survival"],
        InPot(**data["in_pot"]),
        changes.load(data["changes"]),
    )


def _with_nothing_moved(data: dict[str, Any]) -> dict[str, Any]:
    """The third format from the second, which knew neither quarters nor houses nor what was done:
    the same effects, and one more that says nothing."""
    stages = {}
    for stage in ("struck", "finished", "take"):
        of = data[stage]
        was = of["posterior"]
        width = len(was["core"])
        wider = [[*row, 0.0] for row in was["core_cov"]] + [[0.0] * width + [MOVED_SD**2]]
        pulls = {name: [[*row, 0.0] for row in was[name]] for name in ("variety_pull", "cell_pull")}
        posterior = was | pulls | {"core": [*was["core"], 0.0], "core_cov": wider}
        known = of["known"] | {"first_day": 0.0, "last_day": 0.0, "knots": 0, "levels": {}}
        stages[stage] = of | {"posterior": posterior, "known": known}
    return data | stages | {"format": 3}


def _with_nothing_of_their_own(data: dict[str, Any]) -> dict[str, Any]:
    """The fifth format from the fourth, which knew neither crop groups that go their own way nor
    what single stock plants give."""
    nothing = store.dump(residuals.none())
    stages = {name: data[name] | {"walks": nothing} for name in ("struck", "finished", "take")}
    stages["take"] |= {"plants": nothing}
    return data | stages | {"format": 5}


def _fit_days(lots: Lots, seen: Interval, informs: np.ndarray) -> durations.Fit:
    return durations.fit(pick(lots, informs), seen.low[informs], seen.high[informs])
