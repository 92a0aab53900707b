"""At the bench: what was really stuck under a planned tag, and what was not."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from lots import ledger
from lots.forms.sticking.confirming import StickForm
from lots.models import Lot, Stage, StickingSession
from lots.sticking.cutting import in_cutting_order
from lots.views.ledger.finding import lot_of
from lots.views.pages import GET_OR_POST, posted, render_form
from lots.views.refused import add_refusal


@GET_OR_POST
def stick(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    _check_may_correct(request, lot)
    form = StickForm(posted(request), lot=lot, by=request.user)
    if form.is_valid():
        try:
            lot = form.stick(lot, request.user)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(
                request,
                _("Saved: %(lot)s, %(units)s stuck.") % {"lot": lot, "units": lot.stuck_units},
            )
            if request.GET.get("back") == "session" and lot.session_id:
                return redirect(_line_of(lot))
            return _onward(lot)
    context = {"lot": lot, "form": form}
    return render_form(request, "sticking/confirm.html", context)


@require_POST
def not_stuck(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    _check_may_correct(request, lot)
    try:
        ledger.not_stuck(lot, by=request.user)
    except ledger.Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("%(lot)s was not stuck: its tag is void.") % {"lot": lot})
    return _onward(lot)


@require_POST
def all_stuck(request: HttpRequest, pk: int) -> HttpResponse:
    """All lots of a session that are still planned were stuck today as planned, by whoever says so.
    Each is judged by itself; one that can't be stays planned, and it is said why."""
    session = get_object_or_404(StickingSession, pk=pk)
    today, stuck = timezone.localdate(), 0
    if session.day > today:
        messages.error(request, _("The day of this session has not come yet."))
        return redirect("session", pk)
    for lot in in_cutting_order(session):
        if lot.stage != Stage.PLANNED or lot.barred:
            continue
        try:
            ledger.stick(
                lot,
                units=lot.planned_units,
                on=today,
                by=request.user,
                flat=lot.flat,
                place=lot.first_place,
            )
            stuck += 1
        except ledger.Refused as refusal:
            messages.error(request, f"{lot}: {refusal}")
    says = ngettext("%(n)s lot stuck as planned.", "%(n)s lots stuck as planned.", stuck)
    messages.success(request, says % {"n": stuck})
    return redirect("session", pk)


def _onward(lot: Lot) -> HttpResponse:
    """To the session while it has more to confirm, at the line that is the next; else to the lot.

    A phone stays where it is so, and needn't be scrolled down again from tap to tap."""
    lots = in_cutting_order(lot.session) if lot.session else []
    planned = [one for one in lots if one.stage == Stage.PLANNED]
    if not planned:
        return redirect("lot", lot.code)
    # What was not stuck has left the order of cutting; its line still says where it stood.
    after = lots[lots.index(lot) :] if lot in lots else [one for one in lots if one.line > lot.line]
    following = next((one for one in after if one.stage == Stage.PLANNED), planned[0])
    return redirect(_line_of(following))


def _line_of(lot: Lot) -> str:
    return f"{reverse('session', args=[lot.session_id])}#{lot.code}"


def may_correct(person, lot: Lot) -> bool:
    """Whoever stuck a lot, or said so, may count it again until somebody has looked at it; a
    manager always."""
    untouched = lot.stage == Stage.STUCK and lot.seen_on is None
    return person.is_manager or (untouched and person.pk in (lot.stuck_by_id, lot.confirmed_by_id))


def _check_may_correct(request: HttpRequest, lot: Lot) -> None:
    if lot.is_stuck and not may_correct(request.user, lot):
        raise PermissionDenied(
            _("%(lot)s is stuck already; a manager can correct what was stuck.") % {"lot": lot}
        )
