"""The page of a lot: what it is, how it stands, what is expected, what was done."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots import worklists
from lots.models import Forecast, Lot, Stage
from lots.timeline import timeline
from lots.views.finding import lot_of

CHECK = ("lot-check", _("Strike check"))
LOSS = ("lot-loss", _("Loss"))
POT_UP = ("lot-pot-up", _("Pot up"))
FINISH = ("lot-finish", _("Finish"))
LEAVE = ("lot-leave", _("Pots go out"))
MOVE = ("lot-move", _("Move"))
STICK = ("lot-stick", _("Confirm sticking"))
NOT_STUCK = ("lot-not-stuck", _("Not stuck"))


@require_safe
def lot(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    first, more = actions(lot)
    today = timezone.localdate()
    forecast = lot.forecasts.filter(moment=Forecast.Moment.NEWEST).first()
    context = {
        "lot": lot,
        "day": lot.day_number(),
        "first_actions": first,
        "more_actions": more,
        "forecast": forecast,
        "line": timeline(lot, forecast, today) if forecast else None,
        "seldom": bool(lot.seldom_after and lot.seldom_after < today),
        "history": worklists.history(lot),
        "cuts": lot.cuts.select_related("stock_plant"),
        "photo": lot.photos.first(),
        "flatmates": worklists.flatmates(lot),
        "next_lot": worklists.next_due(lot),
    }
    return render(request, "lots/lot.html", context)


def actions(lot: Lot) -> tuple[list, list]:
    """The four big actions of a lot as it stands, and the rest that can be done with it."""
    match lot.stage:
        case Stage.PLANNED:
            return [STICK, NOT_STUCK], []
        case Stage.NOT_STUCK:
            return [], [STICK]
        case Stage.CLOSED:
            return [], []
    if not lot.cells and lot.pots_finished and not lot.pots_growing:
        return [LEAVE, MOVE], []
    if not lot.cells and (lot.units_potted or lot.finished_on):
        return [FINISH, LEAVE, LOSS, MOVE], [CHECK]
    if lot.direct:
        return [CHECK, LOSS, FINISH, MOVE], [LEAVE]
    return [CHECK, LOSS, POT_UP, MOVE], [FINISH, LEAVE] if lot.pots_here else []
