"""Today: what is to be looked at, stuck, finished; what is late and what looks wrong."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lots import supply
from lots.models import Lot
from lots.supply import plan, risk
from lots.views.catalogue.starting import Step, steps
from lots.views.reports import noticed
from lots.worklists import to_do, walk

SHOWN = 8
WANTED_WEEKS = 8


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    day = timezone.localdate()
    this_week, next_week = supply.weeks(2, day)
    late, losing = to_do.late(day), to_do.losing()
    stops = walk.stops(day)
    at_risk = risk.at_risk(plan.newest(), day)
    context = {
        "at_risk": at_risk[:SHOWN],
        "at_risk_in_all": len(at_risk),
        "day": day,
        "benches": walk.benches(stops),
        "first_stop": next(iter(walk.with_lots(stops[:1])), None),
        "sessions": to_do.open_sessions()[:SHOWN],
        "this_week": this_week,
        "next_week": next_week,
        "late": late[:SHOWN],
        "late_in_all": late.count(),
        "losing": losing[:SHOWN],
        "losing_in_all": losing.count(),
        "targets": supply.served(day, WANTED_WEEKS),
        "logged": to_do.logged(day, SHOWN),
        "noticed": noticed.sentences() if request.user.is_manager else [],
        "steps": _first_steps(request),
        "refusals": to_do.open_refusals()[:SHOWN],
    }
    return render(request, "worklists/today.html", context)


def _first_steps(request: HttpRequest) -> list[Step]:
    """What leads to the first printed tag, as long as nothing was stuck."""
    if not request.user.is_manager or Lot.objects.filter(stuck_on__isnull=False).exists():
        return []
    return steps()
