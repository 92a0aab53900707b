"""What changed in the nursery, and how large each change turned out."""

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from lots import outlook
from lots.forms.catalogue import NotedChangeForm
from lots.models import NotedChange
from lots.outlook.effects import Effect, Range
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit, remove
from lots.views.pages import GET_OR_POST, page_of
from lots.views.reports import noticed

TITLE = gettext_lazy("What changed")
CHANGES = Catalogue(NotedChangeForm, TITLE, gettext_lazy("Note a change"), listed="changes")


@require_safe
def changes(request: HttpRequest) -> HttpResponse:
    page = page_of(request, NotedChange.objects.select_related("group"))
    found = outlook.changes.turned_out(outlook.stored_fit.newest())
    rows = [(change, _says(found.get(change.pk, {}))) for change in page]
    asks = noticed.sentences() if request.user.is_manager else []
    context = {"page": page, "rows": rows, "noticed": asks}
    return render(request, "reports/changes.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    """Note a change; a change noted answers the question whether something changed."""
    answer = edit(request, CHANGES)
    if answer.status_code == HTTPStatus.FOUND:
        outlook.noticing.answer(timezone.localdate())
    return answer


@require_POST
@manager_only
def nothing(request: HttpRequest) -> HttpResponse:
    """Nothing changed: of the lots stuck so far it is not asked again."""
    outlook.noticing.answer(timezone.localdate())
    says = _("Noted: nothing changed. The lots stuck so far are not asked about again.")
    messages.success(request, says)
    return redirect("today")


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


def _says(found: dict[str, Effect]) -> dict[str, str]:
    """How large a change turned out, in words for each stage."""
    return {
        stage: _took(of.taken(0.5)) if stage == "take" else _days(of.times)
        for stage, of in found.items()
    }


def _days(of: Range) -> str:
    """From days as a multiple of what they were."""
    middle, low, high = (round(100 * abs(value - 1)) for value in of)
    if of.low > 1 or of.high < 1:
        ends = {"low": min(low, high), "high": max(low, high), "middle": middle}
        if of.middle < 1:
            return _("%(middle)s in 100 quicker (%(low)s to %(high)s)") % ends
        return _("%(middle)s in 100 slower (%(low)s to %(high)s)") % ends
    return _("from %(low)s in 100 quicker to %(high)s slower") % {"low": low, "high": high}


def _took(of: Range) -> str:
    ends = {name: round(100 * share) for name, share in of._asdict().items()}
    return _("where 50 in 100 took, %(middle)s now (%(low)s to %(high)s)") % ends
