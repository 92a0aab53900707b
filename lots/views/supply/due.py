"""Due to finish: how many pots, in which ISO week, from which lots."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import supply
from lots.models.days import YEARS
from lots.reports import charts
from lots.templatetags.book import week_number
from lots.views.pages import page_of

SHOWN_WEEKS = 26


@require_safe
def due(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    this_monday = supply.monday_of(today)
    monday = max(_monday(request.GET.get("week", "")) or this_monday, this_monday)
    outlook = supply.ahead(SHOWN_WEEKS, today)
    context = {
        "outlook": outlook,
        **_chart(outlook),
        "monday": monday,
        "this_monday": this_monday,
        "today": today,
        "page": page_of(request, supply.lots_of(monday, today), 25),
    }
    return render(request, "supply/due.html", context)


def _chart(outlook: supply.Outlook) -> dict[str, object]:
    """The chart of the weeks and what it says in words; nothing as long as no pot is to come."""
    if not outlook.pots:
        return {}
    bars = ((week_number(week.monday), week.pots, week.low, week.high) for week in outlook.weeks)
    most = max(outlook.weeks, key=lambda week: week.pots)
    words = {
        "week": week_number(most.monday),
        "pots": most.pots,
        "low": most.low,
        "high": most.high,
    }
    if most.low is None:
        says = _("Most pots are expected in %(week)s: about %(pots)s.") % words
    else:
        says = (
            _("Most pots are expected in %(week)s: about %(pots)s (%(low)s to %(high)s).") % words
        )
    return {"chart": charts.weeks(bars, _("pots")), "says": says}


def _monday(text: str) -> date | None:
    """The Monday of an ISO week like 2026-W48, or None."""
    try:
        day = date.fromisoformat(f"{text}-1")
    except ValueError:
        return None
    return day if day.year in YEARS else None
