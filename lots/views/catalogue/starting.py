"""The first hour: what leads from an empty book to the first printed tag."""

from dataclasses import dataclass

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe
from simple_history.utils import bulk_create_with_history

from lots import ledger
from lots.forms.starting import PlacesForm, StandingLotForm, StarterForm
from lots.models import Lot, Method, Place, PotSize, StickingSession, Variety
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST, posted, render_form
from lots.views.refused import add_refusal


@dataclass(frozen=True)
class Step:
    """Something to do once, where it is done, and whether it is."""

    title: str
    says: str
    leads: str
    done: bool


def steps() -> list[Step]:
    """The way to the first printed tag, and what else a running nursery has to tell the book."""
    session = StickingSession.objects.order_by("-pk").first()
    there = session is not None and session.lots.exists()
    return [
        Step(
            _("What you grow, and how"),
            _("Crop groups, ways of cutting and pot sizes of the handbook; all can be changed."),
            reverse("starter"),
            Method.objects.exists() and PotSize.objects.exists(),
        ),
        Step(
            _("Varieties and their stock plants"),
            _("Paste your list from a spreadsheet, or type a few names."),
            reverse("varieties-paste"),
            Variety.objects.exists(),
        ),
        Step(
            _("Places on the benches"),
            _("Benches 1 to 3 with 14 places each, say: made at once."),
            reverse("places-range"),
            Place.objects.exists(),
        ),
        Step(
            _("A sticking session"),
            _("A day, a line for each lot; then print the tags."),
            reverse("session-print", args=[session.pk]) if there else reverse("session-new"),
            there,
        ),
        Step(
            _("What stands on the benches already"),
            _("“48 stuck on 3 October, now 40 in pots”: a line a lot, and the book knows it."),
            reverse("lot-enter"),
            Lot.objects.filter(session=None, stuck_on__isnull=False).exists(),
        ),
        Step(
            _("The people who work here"),
            _("Each gets a slip with the address and how to sign in."),
            reverse("person-new"),
            get_user_model().objects.filter(is_active=True).count() > 1,
        ),
    ]


@require_safe
@manager_only
def start(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/start.html", {"steps": steps()})


@GET_OR_POST
@manager_only
def starter(request: HttpRequest) -> HttpResponse:
    form = StarterForm(posted(request))
    if form.is_valid():
        added = form.begin()
        says = ngettext("%(n)s row is in the book.", "%(n)s rows are in the book.", added)
        messages.success(request, says % {"n": added})
        return redirect("start")
    return render_form(request, "catalogue/starter.html", {"form": form})


@GET_OR_POST
@manager_only
def places_range(request: HttpRequest) -> HttpResponse:
    form = PlacesForm(posted(request))
    if form.is_valid():
        bulk_create_with_history(form.made, Place, default_user=request.user)
        added = len(form.made)
        says = ngettext("%(n)s place is made.", "%(n)s places are made.", added)
        messages.success(request, says % {"n": added})
        return redirect("places")
    context = {
        "form": form,
        "title": _("Places by the bench"),
        "intro": _("Each is called by its bench and its number there: 1-01, 1-02 and so on."),
        "button": _("Make them"),
        "crumbs": [(reverse("places"), _("Places"))],
    }
    return render_form(request, "form.html", context)


@GET_OR_POST
@manager_only
def enter(request: HttpRequest) -> HttpResponse:
    """A lot that stands already; the next line begins with what stays the same."""
    form = StandingLotForm(posted(request), initial={"stuck_by": request.user.pk})
    if form.is_valid():
        try:
            lot = form.enter(request.user)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            says = _("In the book: %(variety)s, lot %(lot)s.")
            messages.success(request, says % {"variety": lot.variety, "lot": lot})
            again = StandingLotForm(initial=form.again())
            return render(request, "catalogue/enter.html", {"form": again, "lot": lot})
    return render_form(request, "catalogue/enter.html", {"form": form})
