"""Targets: what is wanted, what serves each, and what is short."""

from dataclasses import dataclass
from io import BytesIO

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from lots import csvbook, supply
from lots.forms.supply import TargetForm, TargetsPasteForm
from lots.models import Outcome, Target
from lots.supply import plan
from lots.supply.need import in_100
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit, remove
from lots.views.pages import GET_OR_POST, page_of, posted, render_form

TITLE = gettext_lazy("Targets")
TARGETS = Catalogue(TargetForm, TITLE, gettext_lazy("New target"), listed="targets")


@dataclass(frozen=True)
class Row:
    """A target with what serves it; and by the plan that is kept, the chance that it is met in time
    and the one of what is here and coming alone; None while no plan has told it, or where it is
    `later`: nothing has to be stuck for it yet."""

    served: supply.Served
    sure: int
    chance: int | None
    as_is: int | None
    later: bool

    @property
    def at_risk(self) -> bool:
        return self.chance is not None and self.chance < self.sure


@require_safe
def targets(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    found = supply.served(today)
    page = page_of(request, found)
    page.object_list = _rows(page.object_list)
    closed = Target.objects.exclude(outcome="").select_related("variety", "pot_size")
    context = {
        "page": page,
        "short": sum(one.short > 0 for one in found),
        "over": supply.over(today),
        "closed": closed.order_by("-closed_on", "-pk")[:10],
    }
    return render(request, "supply/targets.html", context)


def _rows(found: list[supply.Served]) -> list[Row]:
    kept = plan.newest()
    told = [*kept.plan.met, *kept.plan.short] if kept else []
    by_target = {one.target.which: one for one in told}
    later = {one.which for one in kept.plan.later} if kept else set()
    usual = supply.usual_confidence()
    rows = []
    for one in found:
        says = by_target.get(one.target.which)
        rows.append(
            Row(
                one,
                round(100 * (one.target.confidence or usual)),
                in_100(says.chance) if says else None,
                in_100(says.as_is) if says else None,
                one.target.which in later,
            )
        )
    return rows


@GET_OR_POST
@manager_only
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Say how a target came out: met, missed or dropped."""
    target = get_object_or_404(Target.objects.filter(outcome=""), pk=pk)
    outcome = request.POST.get("outcome")
    if request.method == "POST" and outcome in Outcome.values:
        supply.close(target, outcome, timezone.localdate())
        messages.success(
            request, _("%(row)s: %(outcome)s.") % {"row": target, "outcome": Outcome(outcome).label}
        )
        return redirect("targets")
    return render(request, "supply/target_close.html", {"target": target})


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, TARGETS, initial={"variety": request.GET.get("variety", "")})


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, TARGETS, pk)


@GET_OR_POST
@manager_only
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    says = _("Nothing else changes: lots that would have served it stay as they are.")
    return remove(request, Target, pk, "targets", str(TITLE), says)


@GET_OR_POST
@manager_only
def paste(request: HttpRequest) -> HttpResponse:
    """Targets as lines of a spreadsheet, all of them or none; read as `targets.csv` is."""
    form = TargetsPasteForm(posted(request))
    if form.is_valid():
        lines = form.cleaned_data["lines"].encode()
        report = csvbook.import_files([("targets.csv", BytesIO(lines))])
        if report.good:
            added = report.added.get("targets", 0)
            says = ngettext("%(n)s target is added.", "%(n)s targets are added.", added)
            messages.success(request, says % {"n": added})
            return redirect("targets")
        form.tell(report.faults)
    context = {
        "form": form,
        "title": _("Paste targets"),
        "crumbs": [(reverse("targets"), TITLE)],
        "button": _("Add them"),
    }
    return render_form(request, "form.html", context)
