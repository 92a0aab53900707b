"""Places on the benches: the list in walking order, what stands at one, the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.catalogue import lists
from lots.forms.catalogue import PlaceForm
from lots.models import Lot, Place
from lots.models.lot import STANDING, at
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.pages import page_of

PLACES = Catalogue(PlaceForm, _("Places"), _("New place"), listed="places", page="place")


@require_safe
def places(request: HttpRequest) -> HttpResponse:
    page = page_of(request, lists.places())
    return render(request, "catalogue/places.html", {"page": page})


@require_safe
def place(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Place, pk=pk)
    lots = Lot.objects.filter(at(one), stage__in=STANDING)
    shown = lots.select_related("variety", "method", "place", "pots_place", "flat")
    page = page_of(request, shown.order_by("flat__code", "code"))
    rows = [(lot, part) for lot in page for part in lot.parts if part.place == one]
    context = {"place": one, "page": page, "rows": rows, "query": f"place={pk}"}
    return render(request, "catalogue/place.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, PLACES)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, PLACES, pk)
