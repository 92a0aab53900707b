"""What changed in the nursery, and how large each change turned out."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from lots import outlook
from lots.forms.catalogue import NotedChangeForm
from lots.models import NotedChange
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit, remove
from lots.views.pages import GET_OR_POST, page_of

TITLE = gettext_lazy("What changed")
CHANGES = Catalogue(NotedChangeForm, TITLE, gettext_lazy("Note a change"), listed="changes")


@require_safe
def changes(request: HttpRequest) -> HttpResponse:
    page = page_of(request, NotedChange.objects.select_related("group"))
    found = outlook.changes.turned_out(outlook.stored_fit.newest())
    rows = [(change, _says(found.get(change.pk, {}))) for change in page]
    return render(request, "reports/changes.html", {"page": page, "rows": rows})


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, CHANGES)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, CHANGES, pk)


@GET_OR_POST
@manager_only
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    says = _("Forecasts allow no step there any more. The lots’ own records stay as they are.")
    if request.method == "POST":
        outlook.mark_changed()
    return remove(request, NotedChange, pk, "changes", str(TITLE), says)


def _says(found: dict[str, outlook.changes.Effect]) -> dict[str, str]:
    """How large a change turned out, in words for each stage."""
    return {stage: _took(of) if stage == "take" else _days(of) for stage, of in found.items()}


def _days(of: outlook.changes.Effect) -> str:
    """From days as a multiple of what they were."""
    percents = [round(100 * abs(value - 1)) for value in of]
    if of.low > 1 or of.high < 1:
        ends = {"low": min(percents[1:]), "high": max(percents[1:]), "middle": percents[0]}
        if of.middle < 1:
            return _("%(middle)s in 100 quicker (%(low)s to %(high)s)") % ends
        return _("%(middle)s in 100 slower (%(low)s to %(high)s)") % ends
    return _("from %(low)s in 100 quicker to %(high)s slower") % {
        "low": percents[1],
        "high": percents[2],
    }


def _took(of: outlook.changes.Effect) -> str:
    return _("where 50 in 100 took, %(middle)s now (%(low)s to %(high)s)") % {
        name: round(50 + getattr(of, name)) for name in of._fields
    }
