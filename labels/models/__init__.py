"""The tables of the tag service."""

from labels.models.printing import PrintedTag, Printing
from labels.models.stocks import LENGTHS, MM_AN_INCH, LabelStock, Printer, Unit
from labels.models.wording import TagSettings

__all__ = [
    "LENGTHS",
    "MM_AN_INCH",
    "LabelStock",
    "PrintedTag",
    "Printer",
    "Printing",
    "TagSettings",
    "Unit",
]
