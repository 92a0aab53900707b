"""How many to stick: a page that asks, and says what being surer costs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from lots import supply
from lots.forms.supply import NeedForm
from lots.reports import charts
from lots.views.supply.pieces import pieces_say


@require_safe
def how_many(request: HttpRequest) -> HttpResponse:
    form = NeedForm(request.GET)
    asked = form.asked()
    context: dict[str, object] = {"form": form}
    if asked:
        found = supply.how_many(asked, timezone.localdate())
        context |= {"found": found, "asked": asked, "leaves": _leaves(found)}
        if found.units:
            context |= _prices(*supply.prices(found))
    return render(request, "supply/how_many.html", context)


def _prices(units: list[supply.Price], days: list[supply.Price]) -> dict[str, object]:
    """What another number of units, or another day, would do, drawn."""
    of_units = [
        (ngettext("%(n)s unit", "%(n)s units", price.units) % {"n": price.units}, price.chance)
        for price in units
    ]
    of_days = [(date_format(price.day, "j M Y"), price.chance) for price in days]
    drawn = (
        charts.intervals(
            ((label, chance, chance, chance) for label, chance in rows),
            _("chance that enough are finished"),
            percent=True,
        )
        for rows in (of_units, of_days)
    )
    return dict(zip(("by_units", "by_days"), drawn, strict=True)) | {"units": units, "days": days}


def _leaves(found: supply.Answer) -> list[tuple[supply.Gift, str]]:
    """What each stock plant gives."""
    return [(gift, pieces_say(found.asked.method, gift.pieces)) for gift in found.gifts]
