"""All label stocks by name: those shipped with the project and the nursery's own."""

from labels import stock
from labels.models import LabelStock


def every_stock() -> dict[str, stock.LabelStock]:
    """The nursery's own stocks first, by name."""
    own = {row.name: row.measurements() for row in LabelStock.objects.all()}
    return own | stock.shipped() | own
