"""Due to finish: how many pots, in which ISO week, from which lots."""

from datetime import date, timedelta

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import availability, charts, worklists
from lots.templatetags.book import week as week_name

SHOWN_WEEKS = 26


@require_safe
def due(request: HttpRequest) -> HttpResponse:
    this_monday = worklists.monday_of(timezone.localdate())
    monday = _monday(request.GET.get("week", ""))
    weeks = worklists.weeks_due()
    outlook = availability.expected(SHOWN_WEEKS)
    lots = worklists.waited_for().select_related("lot__variety", "lot__method", "lot__place")
    if monday:
        lots = lots.filter(finished_p50__range=(monday, monday + timedelta(days=6)))
    else:  # this week, and what should have finished before it
        lots = lots.filter(finished_p50__lt=this_monday + timedelta(days=7))
    context = {
        "overdue": [week for week in weeks if week.monday < this_monday],
        "weeks": [week for week in weeks if week.monday >= this_monday],
        "outlook": outlook,
        **_chart(outlook),
        "monday": monday,
        "this_monday": this_monday,
        "page": Paginator(lots.order_by("finished_p50", "lot__code"), 25).get_page(
            request.GET.get("page")
        ),
    }
    return render(request, "lots/due.html", context)


def _chart(outlook: availability.Outlook) -> dict[str, str]:
    """The chart of the weeks and what it says in words; nothing as long as there is no outlook."""
    if not outlook.weeks:
        return {}
    bars = ((week_name(week.monday), week.pots, week.low, week.high) for week in outlook.weeks)
    most = max(outlook.weeks, key=lambda week: week.pots)
    says = _("Most pots are expected in %(week)s: about %(pots)s (%(low)s to %(high)s).") % {
        "week": week_name(most.monday),
        "pots": most.pots,
        "low": most.low,
        "high": most.high,
    }
    return {"chart": charts.weeks(bars, _("pots")), "says": says}


def _monday(text: str) -> date | None:
    """The Monday of an ISO week like 2026-W48, or None."""
    try:
        return date.fromisoformat(f"{text}-1")
    except ValueError:
        return None
