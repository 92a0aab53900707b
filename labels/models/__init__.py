"""The tables of the tag service."""

from labels.models.printing import PrintedTag, Printing
from labels.models.stocks import LENGTHS, LabelStock, Printer, Unit
from labels.models.wording import TagSettings

__all__ = [
    "LENGTHS",
    "LabelStock",
    "PrintedTag",
    "Printer",
    "Printing",
    "TagSettings",
    "Unit",
]
