"""A manager puts right what a stuck lot is: its variety, method, session, stock plants."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from lots import ledger
from lots.forms.ledger.correcting import CorrectForm
from lots.views.access import manager_only
from lots.views.ledger.finding import lot_of
from lots.views.pages import GET_OR_POST, posted, render_form
from lots.views.refused import add_refusal


@GET_OR_POST
@manager_only
def correct(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    if not lot.is_stuck:
        messages.error(request, _("%(lot)s is not stuck; change its line.") % {"lot": lot})
        return redirect("lot", lot.code)
    if "plants-of" in request.GET:  # the variety typed anew: its plants, none of them ticked
        form = CorrectForm(lot=lot, initial={"variety": request.GET.get("variety", "")})
        if form.chosen != lot.variety:
            form.initial["plants"] = []
        return render(request, "sticking/plants.html", {"form": form})
    form = CorrectForm(posted(request), lot=lot)
    if form.is_valid():
        try:
            form.correct(request.user)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, _("%(lot)s is put right.") % {"lot": lot})
            return redirect("lot", lot.code)
    context = {"lot": lot, "form": form}
    return render_form(request, "ledger/correct.html", context)
