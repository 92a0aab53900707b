"""A plan as JSON and back: what it names stands there by its key in the book. What has gone from
the book since goes from the plan."""

import copy
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date

from lots import formats
from lots.models import Method, StockPlant, Target
from lots.supply.plan.horizon import Horizon
from lots.supply.plan.told import Line, Load, Met, Planned, Short, WeekLoad

# What brings a kept plan of an older format forward (see `lots.formats`).
STEPS: tuple[formats.Step, ...] = ()


def dump(plan: Planned) -> dict:
    """As dictionaries and lists, fit for JSON."""
    return {
        "format": len(STEPS) + 1,
        "today": plan.horizon.today.isoformat(),
        "count": plan.horizon.weeks,
        "done": plan.done,
        "gap": plan.gap,
        "seconds": plan.seconds,
        "weeks": [
            [
                week.monday.isoformat(),
                *(asdict(load) for load in (week.flats, week.minutes, week.pot_area)),
            ]
            for week in plan.weeks
        ],
        "lines": [_line(line) for line in plan.lines],
        "met": [
            _wanted(met.target) | {"chance": met.chance, "as_is": met.as_is} for met in plan.met
        ],
        "short": [
            _wanted(one.target)
            | {
                "short": one.short,
                "limit": one.limit,
                "lift": str(one.lift),
                "chance": one.chance,
                "as_is": one.as_is,
            }
            for one in plan.short
        ],
        "later": [_wanted(target) for target in plan.later],
    }


def load(data: dict) -> Planned:
    """What `dump`, of this version or an older one, made the data of. Raises ValueError, KeyError
    or TypeError for what it didn't."""
    data = formats.bring_forward(data, STEPS)
    named = [*data["lines"], *data["met"], *data["short"], *data["later"]]
    targets = Target.objects.select_related("variety", "pot_size")
    book = {
        target.pk: target
        for target in targets.filter(pk__in={one["target"] for one in named}, outcome="")
    }
    methods = {method.pk: method for method in Method.objects.all()}
    used = {plant for line in data["lines"] for plant, _pieces in line["stock"]}
    plants = StockPlant.objects.select_related("place").in_bulk(used)
    there = {id(one): _target(book, one) for one in named}

    def rows(name: str) -> list[tuple[dict, Target]]:
        return [(one, there[id(one)]) for one in data[name] if there[id(one)] is not None]

    return Planned(
        Horizon(date.fromisoformat(data["today"]), data["count"]),
        data["done"],
        data["gap"],
        data["seconds"],
        [
            WeekLoad(date.fromisoformat(monday), *(Load(**load) for load in loads))
            for monday, *loads in data["weeks"]
        ],
        [
            Line(
                date.fromisoformat(one["week"]),
                target,
                methods[one["method"]],
                one["units"],
                one["pieces"],
                one["flats"],
                date.fromisoformat(one["bench"]),
                one["minutes"],
                one["chance"],
                [(plants[plant], pieces) for plant, pieces in one["stock"] if plant in plants],
            )
            for one, target in rows("lines")
            if one["method"] in methods
        ],
        [Met(target, one["chance"], one["as_is"]) for one, target in rows("met")],
        [
            Short(target, one["short"], one["limit"], one["lift"], one["chance"], one["as_is"])
            for one, target in rows("short")
        ],
        [target for _one, target in rows("later")],
    )


def weeks_of(plan: Planned) -> Mapping[tuple[int, date], set[date]]:
    """The weeks, by their Mondays, that a plan gave each target."""
    found: dict[tuple[int, date], set[date]] = {}
    for line in plan.lines:
        found.setdefault(line.target.which, set()).add(line.week)
    return found


def key_of(line: Line) -> tuple:
    """What tells a line from the others of its plan."""
    return key(_line(line))


def key(line: dict) -> tuple:
    return line["target"], line["wanted_by"], line["week"]


def _wanted(target: Target) -> dict:
    return {"target": target.pk, "wanted_by": target.wanted_by.isoformat()}


def _target(book: Mapping[int, Target], one: dict) -> Target | None:
    """The target that a row names, on its day."""
    target = copy.copy(book.get(one["target"]))
    if target is not None:
        target.wanted_by = date.fromisoformat(one["wanted_by"])
    return target


def _line(line: Line) -> dict:
    return _wanted(line.target) | {
        "week": line.week.isoformat(),
        "method": line.method.pk,
        "units": line.units,
        "pieces": line.pieces,
        "flats": line.flats,
        "bench": line.bench.isoformat(),
        "minutes": line.minutes,
        "chance": line.chance,
        "stock": [[plant.pk, pieces] for plant, pieces in line.stock],
    }
