"""Logging on a lot, a form a verb, and voiding. The ledger has the last word."""

import logging

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from lots import ledger
from lots.forms.ledger.kinds import FORMS
from lots.forms.ledger.records import RecordForm, VoidForm
from lots.models import RECORDS, Record
from lots.views.files import PHOTO, takes
from lots.views.ledger.finding import lot_of
from lots.views.ledger.saving import save
from lots.views.pages import GET_OR_POST, posted, render_form
from lots.views.refused import add_refusal
from lots.worklists import walk

logger = logging.getLogger(__name__)


@takes(PHOTO)
@GET_OR_POST
def log(request: HttpRequest, code: str, verb: str) -> HttpResponse:
    """Show the verb's form; on POST let the ledger write it, and go back to the lot."""
    lot = lot_of(code)
    files = request.FILES if request.method == "POST" else None
    at_pots = request.GET.get("at") == "pots" and lot.pots_place_id is not None
    at = "?at=pots" if at_pots else ""
    form = FORMS[verb](posted(request), files, lot=lot, at_pots=at_pots)
    if form.is_valid():
        try:
            entry, followed = save(form, request.user)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, _saved(form, entry, at_pots, followed))
            return redirect(reverse("lot", args=[lot.code]) + at)
    context = {"lot": lot, "form": form, "at": at}
    return render_form(request, "ledger/record.html", context)


@GET_OR_POST
def void(request: HttpRequest, code: str, kind: str, uuid) -> HttpResponse:
    lot = lot_of(code)
    if kind not in RECORDS:
        raise Http404
    entry = get_object_or_404(RECORDS[kind].objects.select_related("by"), lot=lot, uuid=uuid)
    if entry.by_id != request.user.pk and not request.user.is_manager:
        raise PermissionDenied(
            _("This is a record of %(name)s; only they or a manager can void it.")
            % {"name": entry.by}
        )
    together = ledger.written_with(entry)
    form = VoidForm(posted(request), together=len(together))
    if form.is_valid():
        void = ledger.void if form.cleaned_data.get("alone") else ledger.void_action
        try:
            void(entry, by=request.user, why=form.cleaned_data["why"])
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, _("Voided. It stays in the history, struck through."))
            return redirect("lot", lot.code)
    lots = len({record.lot_id for record in together})
    context = {"lot": lot, "entry": entry, "form": form, "together": together, "lots": lots}
    return render_form(request, "ledger/void.html", context)


def _saved(form: RecordForm, entry: Record, at_pots: bool, followed: str) -> str:
    """What was saved, the way to take it back, and the next lot of the walk."""
    part = form.lot.parts[-1 if at_pots else 0]
    try:
        stop = walk.next_stop(form.lot, part)
        following = walk.with_lots([stop])[0] if stop else None
    except DatabaseError:  # it is saved all the same
        logger.exception("What is next on the walk could not be looked up.")
        following = None
    context = {
        "said": form.said(),
        "followed": followed,
        "undo": _void_address(entry),
        "next": following,
    }
    return render_to_string("ledger/saved.html", context)


def _void_address(entry) -> str:
    return reverse("lot-void", args=[entry.lot.code, entry.KIND, entry.uuid])
