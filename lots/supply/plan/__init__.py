"""The sticking plan: for all that is wanted, what to stick in which week, from which plants.

`reading` makes a problem of the book, `lots.planning` solves it, `making` says what comes of it.
"""

from lots.supply.plan.horizon import iso_week
from lots.supply.plan.making import SECONDS, WEEKS, make
from lots.supply.plan.told import Line, Load, Met, Planned, Short, WeekLoad, as_json

__all__ = [
    "SECONDS",
    "WEEKS",
    "Line",
    "Load",
    "Met",
    "Planned",
    "Short",
    "WeekLoad",
    "as_json",
    "iso_week",
    "make",
]
