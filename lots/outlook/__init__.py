"""From the book to the forecast and back: what is expected of a lot, and when to look again.

`facts` reads what the book knows of lots, `rows` makes arrays of it, `fits` fits them, `kept` has
the newest fit, `stages` says when pots come, `prediction` forecasts from a fit, `forecasts` writes
that into the book, `refits` makes all of it anew.
"""

from lots.outlook import calendar, comparing, judging
from lots.outlook.forecasts import (
    FIELDS_OF_LOT,
    expect,
    forget,
    freeze,
    freeze_again,
    look_by_handbook,
    renew,
)
from lots.outlook.kept import is_broken, mark_changed
from lots.outlook.refits import Refit, keep_fresh, refit
from lots.outlook.rows import row_of
from lots.outlook.telling import Days, Told, tell

__all__ = [
    "FIELDS_OF_LOT",
    "Days",
    "Refit",
    "Told",
    "calendar",
    "comparing",
    "expect",
    "forget",
    "freeze",
    "freeze_again",
    "is_broken",
    "judging",
    "keep_fresh",
    "look_by_handbook",
    "mark_changed",
    "refit",
    "renew",
    "row_of",
    "tell",
]
