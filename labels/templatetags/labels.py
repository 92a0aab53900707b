"""Template words of the tag service."""

from django import template
from django.urls import reverse
from django.utils.translation import gettext

from labels.prints import printed_tags
from labels.sentences import Sentence
from lots.models import Lot, StockPlant

register = template.Library()
SHOWN = 10


@register.filter
def translated(sentence: str) -> str:
    """A sentence of the core in the language of the page."""
    if not isinstance(sentence, Sentence):
        return sentence
    values = {name: translated(value) for name, value in sentence.values.items()}
    return gettext(sentence.template) % values


@register.inclusion_tag("labels/printings.html", takes_context=True)
def printings(context: dict[str, object], of: Lot | StockPlant) -> dict[str, object]:
    """When the tag of a lot or a stock plant was printed, and by whom."""
    url = (
        reverse("lot-print", args=[of.code])
        if isinstance(of, Lot)
        else reverse("stock-plant-print", args=[of.pk])
    )
    return {"tags": printed_tags(of)[:SHOWN], "again": url, "user": context["user"]}
