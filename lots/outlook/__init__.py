"""From the book to the forecast and back: what is expected of a lot, and when to look again.

`facts` reads what the book knows of lots, `rows` makes arrays of it, `fits` fits them, `stored_fit`
has the newest fit, `stages` says when pots come, `prediction` forecasts from a fit, `forecasts`
writes that into the book, `refits` makes all of it anew, `verification` holds it against what came.
"""

from lots.outlook import (
    calendar,
    changes,
    comparing,
    noticing,
    practices,
    reasons,
    stored_fit,
    verification,
)
from lots.outlook.forecasts import (
    FIELDS_OF_LOT,
    expect,
    forget,
    freeze,
    freeze_again,
    look_by_handbook,
    renew,
)
from lots.outlook.lot_forecast import LotForecast, StageDays, lot_forecasts
from lots.outlook.refits import Refit, refit, refit_in_background
from lots.outlook.rows import row_of
from lots.outlook.stored_fit import is_broken, mark_changed

__all__ = [
    "FIELDS_OF_LOT",
    "LotForecast",
    "Refit",
    "StageDays",
    "calendar",
    "changes",
    "comparing",
    "expect",
    "forget",
    "freeze",
    "freeze_again",
    "is_broken",
    "look_by_handbook",
    "lot_forecasts",
    "mark_changed",
    "noticing",
    "practices",
    "reasons",
    "refit",
    "refit_in_background",
    "renew",
    "row_of",
    "stored_fit",
    "verification",
]
