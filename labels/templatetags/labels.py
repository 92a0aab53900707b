"""Template words of the tag service."""

from django import template

from labels.prints import printed_tags
from labels.translating import translated
from lots.models import Lot, StockPlant

SHOWN = 10
register = template.Library()
register.filter(translated)


@register.inclusion_tag("labels/printings.html", takes_context=True)
def printings(context: dict[str, object], of: Lot | StockPlant) -> dict[str, object]:
    """When the tag of a lot or a stock plant was printed, and by whom."""
    return {"tags": printed_tags(of)[:SHOWN], "user": context["user"]}
