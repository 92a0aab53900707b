"""The page of a lot: what it is, how it stands, what is expected, what was done."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots import outlook, supply
from lots.ledger import flats, photos
from lots.ledger.history import corrections, history
from lots.models import RECORDS, Forecast, Lot, Photo, Record, Stage
from lots.reports.timeline import timeline
from lots.views.ledger.finding import lot_of
from lots.views.sticking.confirming import may_correct
from lots.worklists import walk

SHOWN_PHOTOS = 12
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
    records = history(lot)
    shown = _by_day(lot)
    photo = shown[-1][0] if shown else None
    part = lot.parts[-1 if request.GET.get("at") == "pots" else 0]
    stop = walk.next_stop(lot, part)
    context = {
        "lot": lot,
        "at": "?at=pots" if part.what == "pots" else "",
        "day": lot.day_number(),
        "first_actions": first,
        "more_actions": more,
        "forecast": forecast,
        "pots": supply.of_lot(lot, forecast) if forecast else None,
        "leans": outlook.row_of(lot.variety.group, lot.method),
        "line": timeline(lot, forecast, today) if forecast else None,
        "reasons": outlook.reasons.reasons(lot) if forecast else None,
        "seldom": bool(lot.seldom_after and lot.seldom_after < today),
        "is_older": forecast and any(_touched(entry) > forecast.made_at for entry in records),
        "handbook_stands_in": forecast and outlook.is_broken(),
        "history": records,
        "corrections": corrections(lot),
        "may_correct": lot.is_stuck and may_correct(request.user, lot),
        "cuts": lot.cuts.select_related("stock_plant"),
        "photo": photo,
        "photo_size": photos.size_of(photo) if photo else None,
        "photos": shown,
        "flatmates": flats.flatmates(lot),
        "next": walk.with_lots([stop])[0] if stop else None,
    }
    return render(request, "ledger/lot.html", context)


def _by_day(lot: Lot) -> list[tuple[Photo, int]]:
    """Its newest photos, the last one last, each with the day of the lot's life on which it was
    taken."""
    newest = lot.photos.all()[:SHOWN_PHOTOS]
    days = [(photo, timezone.localtime(photo.taken_at).date()) for photo in reversed(newest)]
    return [(photo, lot.day_number(day) or 0) for photo, day in days]


def _touched(entry: Record) -> datetime:
    """When the record reached the book, or was voided."""
    return entry.voided_at or entry.recorded_at


def actions(lot: Lot) -> tuple[list, list]:
    """The four big actions of a lot as it stands, and the rest that can be done with it."""
    first, more = _verbs(lot)
    kinds = [model for model in RECORDS.values() if lot.stage in model.OFFERED_IN]
    return first, more + [(f"lot-{kind.KIND}", capfirst(kind._meta.verbose_name)) for kind in kinds]


def _verbs(lot: Lot) -> tuple[list, list]:
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
