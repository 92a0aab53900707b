"""At the bench: what was really stuck under a planned tag, and what was not."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from lots import ledger
from lots.forms.sticking import StickForm
from lots.models import Lot, Stage
from lots.views.access import posted
from lots.views.finding import lot_of
from lots.views.refused import add_refusal


@require_http_methods(["GET", "HEAD", "POST"])
def stick(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    _check_may_correct(request, lot)
    form = StickForm(posted(request), lot=lot, by=request.user)
    if form.is_valid():
        try:
            lot = form.stick(lot)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(
                request,
                _("Saved: %(lot)s, %(units)s stuck.") % {"lot": lot, "units": lot.stuck_units},
            )
            return _onward(lot)
    context = {"lot": lot, "form": form}
    return render(request, "lots/stick.html", context, status=422 if form.errors else 200)


@require_POST
def not_stuck(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    _check_may_correct(request, lot)
    try:
        ledger.not_stuck(lot)
    except ledger.Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("%(lot)s was not stuck: its tag is void.") % {"lot": lot})
    return _onward(lot)


def _onward(lot: Lot) -> HttpResponse:
    """To the session while it has more to confirm, else to the lot."""
    if lot.session and lot.session.lots.filter(stage=Stage.PLANNED).exists():
        return redirect("session", lot.session_id)
    return redirect("lot", lot.code)


def _check_may_correct(request: HttpRequest, lot: Lot) -> None:
    """Whoever stuck a lot may correct it as long as it has no records; a manager always."""
    if request.user.is_manager or not lot.is_stuck:
        return
    untouched = lot.stage == Stage.STUCK and lot.seen_on is None
    if untouched and lot.stuck_by_id == request.user.pk:
        return
    raise PermissionDenied(
        _("%(lot)s is stuck already; a manager can correct what was stuck.") % {"lot": lot}
    )
