"""Targets: what is wanted, what serves each, and what is short."""

from io import BytesIO

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from lots import csvbook, supply
from lots.forms.supply import TargetForm, TargetsPasteForm
from lots.models import Target
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit, remove
from lots.views.pages import GET_OR_POST, page_of, posted, render_form

TITLE = gettext_lazy("Targets")
TARGETS = Catalogue(TargetForm, TITLE, gettext_lazy("New target"), listed="targets")


@require_safe
def targets(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    found = supply.served(today)
    over = Target.objects.filter(wanted_by__lt=today).select_related("variety", "pot_size")
    context = {
        "page": page_of(request, found),
        "short": sum(one.short > 0 for one in found),
        "over": over.order_by("-wanted_by", "pk")[:10],
    }
    return render(request, "supply/targets.html", context)


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
