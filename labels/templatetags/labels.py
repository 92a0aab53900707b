"""Template words of the tag service."""

from collections.abc import Iterable

from django import template

from labels.forms.printing import Which
from labels.prints import parted, printed_tags, wrong_on_tag
from labels.translating import translated
from lots.models import Lot, Place, Stage, StockPlant
from lots.models.stock import Health

SHOWN = 10
register = template.Library()
register.filter(translated)


@register.inclusion_tag("labels/printings.html", takes_context=True)
def printings(context: dict[str, object], of: Lot | StockPlant) -> dict[str, object]:
    """When the tag of a lot or a stock plant was printed, and by whom."""
    return {"tags": printed_tags(of)[:SHOWN], "user": context["user"]}


@register.inclusion_tag("labels/wrong_tag.html", takes_context=True)
def wrong_tag(context: dict[str, object], lot: Lot) -> dict[str, object]:
    """What the tag of a lot shows that is no longer so, and the way to a right one."""
    told = [] if lot.stage in (Stage.NOT_STUCK, Stage.CLOSED) else wrong_on_tag(lot)
    return {"lot": lot, "differences": told, "user": context["user"]}


@register.inclusion_tag("labels/not_printed.html")
def tags_to_print(session, lots: Iterable[Lot]) -> dict[str, object]:
    """How many tags of a session are still to be printed, or to be printed again."""
    parts = parted(lots)
    new, again = len(parts[Which.NEW]), len(parts[Which.WRONG])
    return {
        "session": session,
        "new": new if new < len(parts[Which.ALL]) else 0,
        "again": again,
    }


@register.inclusion_tag("labels/plants_here.html")
def tags_of_plants_at(place: Place) -> dict[str, object]:
    """The way to the tags of the stock plants that stand at a place."""
    plants = StockPlant.objects.filter(place=place).exclude(health=Health.GONE)
    return {"place": place, "plants": plants.count()}
