"""The plan: what to stick in which week, what can't be met, and a session made of its lines."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from lots.forms.plan import PlanSessionForm
from lots.models import Wish
from lots.reports import charts
from lots.sticking import plans
from lots.supply import plan
from lots.supply.need import in_100
from lots.supply.plan import Kept, Line, WeekLoad
from lots.templatetags.book import week_number
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST
from lots.views.supply.pieces import pieces_say

SOON = timedelta(weeks=4)
PATIENCE = 2.0  # seconds that a page waits for a plan before it shows how far it is


@dataclass(frozen=True)
class Row:
    """A line, the name by which a form sends it, and what each stock plant gives."""

    line: Line
    name: str
    stock: list[tuple[object, str]]

    @property
    def in_100(self) -> int:
        return in_100(self.line.chance)


@dataclass(frozen=True)
class PlanWeek:
    monday: date
    day: date  # proposed for the session
    rows: list[Row]
    minutes: float
    flats: int
    soon: bool  # near enough to be made a session of


@GET_OR_POST
def the_plan(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        return _again(request)
    working, kept = plan.working(), plan.newest()
    today = timezone.localdate()
    context: dict[str, object] = {"working": working, "kept": kept, "today": today}
    if kept:
        context |= {
            "plan": kept.plan,
            "weeks": _weeks(kept.plan.lines, today),
            "charts": load_charts(kept.plan.weeks),
            "changes": plan.changes(kept),
            "wishes": Wish.objects.select_related("target__variety").order_by("week", "pk"),
            "behind": plan.is_behind(),
            "gap": math.ceil(100 * kept.plan.gap),
        }
    return render(request, "supply/plan.html", context)


@manager_only
def _again(request: HttpRequest) -> HttpResponse:
    """Make it anew, or end that with the best so far."""
    if request.POST.get("do") == "stop":
        plan.stop()
    working = plan.work(PATIENCE)
    if working and working.failed:
        messages.error(request, _("The plan could not be made; the one before stays."))
    elif working is None:
        messages.success(request, _("The plan is worked out anew."))
    return redirect("plan")


@require_POST
@manager_only
def session(request: HttpRequest) -> HttpResponse:
    """A sticking session of the lines that are ticked."""
    form = PlanSessionForm(request.POST)
    if not form.is_valid():
        for says in (says for faults in form.errors.values() for says in faults):
            messages.error(request, says)
        return redirect("plan")
    lines = [line for line in _kept().plan.lines if _name(line) in form.lines]
    if not lines:
        messages.error(request, _("The plan has changed since this page was made: look again."))
        return redirect("plan")
    made, refused = plans.of_plan(lines, form.cleaned_data["day"], request.user)
    plan.take_out(lines)
    says = ngettext(
        "%(n)s line of the plan is planned in this session.",
        "%(n)s lines of the plan are planned in this session.",
        len(lines) - len(refused),
    )
    messages.success(request, says % {"n": len(lines) - len(refused)})
    for fault in refused:
        messages.error(request, fault)
    return redirect("session", made.pk)


@require_POST
@manager_only
def wish(request: HttpRequest) -> HttpResponse:
    """Settle that a line stays in its week, or that its target is not stuck in it; or let that
    go."""
    if gone := request.POST.get("let_go", ""):
        Wish.objects.filter(pk=gone if gone.isdecimal() and len(gone) < 18 else 0).delete()
    else:
        pinned, barred = request.POST.get("pin", ""), request.POST.get("bar", "")
        lines = [line for line in _kept().plan.lines if _name(line) in (pinned, barred)]
        for line in lines:
            target = line.target
            Wish.objects.update_or_create(
                target_id=target.pk,
                wanted_by=target.wanted_by,
                week=line.week,
                defaults={"barred": bool(barred), "units": None if barred else line.units},
            )
        if not lines:
            messages.error(request, _("The plan has changed since this page was made: look again."))
            return redirect("plan")
    return _again(request)


def _kept() -> Kept:
    kept = plan.newest()
    if kept is None:
        raise Http404(_("There is no plan yet."))
    return kept


def _name(line: Line) -> str:
    return f"{line.target.pk}:{line.target.wanted_by.isoformat()}:{line.week.isoformat()}"


def _weeks(lines: Iterable[Line], today: date) -> list[PlanWeek]:
    weeks: dict[date, list[Row]] = {}
    for line in lines:
        stock = [(plant, pieces_say(line.method, pieces)) for plant, pieces in line.stock]
        weeks.setdefault(line.week, []).append(Row(line, _name(line), stock))
    return [
        PlanWeek(
            monday,
            max(monday, today),
            rows,
            sum(row.line.minutes for row in rows),
            sum(row.line.flats for row in rows),
            monday <= today + SOON,
        )
        for monday, rows in sorted(weeks.items())
    ]


def load_charts(weeks: list[WeekLoad]) -> list[tuple[charts.Chart, str]]:
    """Flats, minutes and m² by week, where any are there or limited."""
    told = [
        ("flats", _("flats on the propagation bench"), 1),
        ("minutes", _("hours of sticking"), 60),
        ("pot_area", _("m² of pots that grow on"), 1),
    ]
    drawn = []
    for name, title, by in told:
        loads = [getattr(week, name) for week in weeks]
        if not any(load.standing + load.planned or load.limit is not None for load in loads):
            continue
        rows = [
            (week_number(week.monday), (load.standing + load.planned) / by, None, None)
            for week, load in zip(weeks, loads, strict=True)
        ]
        limits = [None if load.limit is None else load.limit / by for load in loads]
        says = _("What stands or is planned, by week; dashed: the limit.")
        drawn.append((charts.weeks(rows, title, limits), says))
    return drawn
