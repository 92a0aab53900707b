"""Today: what is to be looked at, stuck, finished; what is late and what looks wrong."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lots import worklists

SHOWN = 8


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    day = timezone.localdate()
    monday = worklists.monday_of(day)
    weeks = {week.monday: week for week in worklists.weeks_due(monday, monday + timedelta(days=13))}
    context = {
        "day": day,
        "benches": worklists.benches_due(day),
        "first_due": worklists.looks_due(day).first(),
        "sessions": worklists.open_sessions()[:SHOWN],
        "this_week": weeks.get(monday),
        "next_week": weeks.get(monday + timedelta(days=7)),
        "late": worklists.late(day)[:SHOWN],
        "losing": worklists.losing()[:SHOWN],
        "targets": worklists.targets_ahead(day),
        "logged": worklists.logged(day, SHOWN),
        "refusals": worklists.open_refusals()[:SHOWN],
    }
    return render(request, "lots/today.html", context)
