"""What a plan says: dataclasses for pages, and the JSON of `manage.py plan`."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from lots.models import Method, StockPlant, Target
from lots.models.days import iso_week
from lots.supply.need import in_100
from lots.supply.plan.horizon import Horizon


@dataclass(frozen=True, slots=True)
class Line:
    """A lot to be stuck in the week from `week` on, for a target; its flats stand on the
    propagation bench in the weeks from `week` to `bench`. chance: that the target is met, with all
    that is planned for it. stock: pieces by plant."""

    week: date
    target: Target
    method: Method
    units: int
    pieces: int
    flats: int
    bench: date
    minutes: float
    chance: float
    stock: list[tuple[StockPlant, int]]


@dataclass(frozen=True, slots=True)
class Met:
    """A target that is met with the asked chance, and that chance; `as_is`: the chance without
    what is yet to be stuck."""

    target: Target
    chance: float
    as_is: float

    @property
    def in_100(self) -> int:
        return in_100(self.chance)

    @property
    def as_is_in_100(self) -> int:
        return in_100(self.as_is)


@dataclass(frozen=True, slots=True)
class Short:
    """A target that so many pots are missing of, at the asked chance; the limit that binds, and
    what would lift it."""

    target: Target
    short: int
    limit: str
    lift: str
    chance: float
    as_is: float

    @property
    def in_100(self) -> int:
        return in_100(self.chance)


@dataclass(frozen=True, slots=True)
class Load:
    """What stands, or has to be done, in a week anyway, what is planned, and the limit, None where
    there is none."""

    standing: float
    planned: float
    limit: float | None

    @property
    def over(self) -> bool:
        return self.limit is not None and self.standing + self.planned > self.limit + 1e-6


@dataclass(frozen=True, slots=True)
class WeekLoad:
    monday: date
    flats: Load
    minutes: Load
    pot_area: Load


@dataclass(frozen=True, slots=True)
class Planned:
    """A sticking plan. `later` are targets for which nothing has to be stuck within its weeks."""

    horizon: Horizon
    done: bool
    gap: float
    seconds: float
    weeks: list[WeekLoad]
    lines: list[Line]
    met: list[Met]
    short: list[Short]
    later: list[Target]


def as_json(plan: Planned) -> dict:
    """As `manage.py plan --json` prints it."""
    return {
        "as_of": plan.horizon.today.isoformat(),
        "status": "optimal" if plan.done else "stopped",
        "gap": round(plan.gap, 6),
        "seconds": round(plan.seconds, 2),
        "weeks": [
            {
                "week": iso_week(week.monday),
                "flats": _load(week.flats, 0),
                "minutes": _load(week.minutes, 1),
                "pot_area_m2": _load(week.pot_area, 3),
            }
            for week in plan.weeks
        ],
        "lines": [_line(line) for line in plan.lines],
        "met": [_target(met.target) | {"chance": round(met.chance, 4)} for met in plan.met],
        "short": [
            _target(short.target)
            | {"short": short.short, "limit": short.limit, "lift": str(short.lift)}
            for short in plan.short
        ],
    }


def _load(load: Load, digits: int) -> dict:
    def shown(number: float | None) -> float | int | None:
        if number is None:
            return None
        return round(number) if digits == 0 else round(number, digits)

    return {
        "standing": shown(load.standing),
        "planned": shown(load.planned),
        "limit": shown(load.limit),
    }


def _target(target: Target) -> dict:
    return {
        "variety": target.variety.code,
        "pot_size": target.pot_size.name,
        "pots": target.pots,
        "wanted_by": target.wanted_by.isoformat(),
    }


def _line(line: Line) -> dict:
    return {
        "week": iso_week(line.week),
        "variety": line.target.variety.code,
        "method": line.method.name,
        "pot_size": line.target.pot_size.name,
        "units": line.units,
        "pieces": line.pieces,
        "flats": line.flats,
        "flat_weeks": [iso_week(line.week), iso_week(line.bench)],
        "minutes": round(line.minutes, 1),
        "chance": round(line.chance, 4),
        "wanted_by": line.target.wanted_by.isoformat(),
        "stock": _stock(line.stock),
    }


def _stock(stock: Sequence[tuple[StockPlant, int]]) -> list[dict]:
    return [{"stock_plant": plant.code, "pieces": pieces} for plant, pieces in stock]
