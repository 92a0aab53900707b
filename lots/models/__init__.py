"""The book's tables, one file a theme."""

from lots.models.catalogue import CropGroup, Method, PotSize, SourcePart, Variety
from lots.models.change import NotedChange
from lots.models.correction import Correction
from lots.models.forecast import Fit, Forecast, ToCome
from lots.models.lot import Cut, Lot, Stage
from lots.models.photo import Photo
from lots.models.place import Flat, Place
from lots.models.plan import Limit, Outcome, Plan, PlanSettings, Target, Wish
from lots.models.records import RECORDS, Finish, Leave, Loss, Move, PotUp, Record, StrikeCheck
from lots.models.refusal import Refusal
from lots.models.session import StickingSession
from lots.models.stock import StockPlant
from lots.models.trial import Arm, Trial

__all__ = [
    "RECORDS",
    "Arm",
    "Correction",
    "CropGroup",
    "Cut",
    "Finish",
    "Fit",
    "Flat",
    "Forecast",
    "Leave",
    "Limit",
    "Loss",
    "Lot",
    "Method",
    "Move",
    "NotedChange",
    "Outcome",
    "Photo",
    "Place",
    "Plan",
    "PlanSettings",
    "PotSize",
    "PotUp",
    "Record",
    "Refusal",
    "SourcePart",
    "Stage",
    "StickingSession",
    "StockPlant",
    "StrikeCheck",
    "Target",
    "ToCome",
    "Trial",
    "Variety",
    "Wish",
]
