"""The sticking plan: for all that is wanted, what to stick in which week, from which plants.

`reading` makes a problem of the book, `lots.planning` solves it, `making` says what comes of it and
`short` why something can't be met; `kept` keeps the newest for the pages.
"""

from lots.models.days import iso_week
from lots.supply.plan.changing import Change
from lots.supply.plan.kept import (
    Kept,
    chances,
    changes,
    is_behind,
    newest,
    renew,
    renew_in_background,
    stop,
    take_out,
    work,
    working,
)
from lots.supply.plan.making import SECONDS, WEEKS, make
from lots.supply.plan.told import Line, Load, Met, Planned, Short, WeekLoad, as_json

__all__ = [
    "SECONDS",
    "WEEKS",
    "Change",
    "Kept",
    "Line",
    "Load",
    "Met",
    "Planned",
    "Short",
    "WeekLoad",
    "as_json",
    "chances",
    "changes",
    "is_behind",
    "iso_week",
    "make",
    "newest",
    "renew",
    "renew_in_background",
    "stop",
    "take_out",
    "work",
    "working",
]
