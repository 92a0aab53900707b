"""Varieties: the list, the page of one, the form, and finding one by a few letters."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.catalogue import lists
from lots.catalogue.lists import named
from lots.forms.catalogue import VarietyFilter, VarietyForm
from lots.models import Variety
from lots.stockplants import plants
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.pages import page_of

SHOWN_LOTS = 12
SHOWN_FINDS = 20
VARIETIES = Catalogue(
    VarietyForm,
    _("Varieties"),
    _("New variety"),
    listed="varieties",
    page="variety",
)


@require_safe
def varieties(request: HttpRequest) -> HttpResponse:
    form = VarietyFilter(request.GET)
    page = page_of(request, form.apply(lists.varieties()))
    return render(request, "catalogue/varieties.html", {"form": form, "page": page})


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """The options of a datalist: varieties with the letters typed (`q`, or `variety` as the
    field of a session's line is called) in their name or code."""
    words = (request.GET.get("q") or request.GET.get("variety") or "").strip()
    found = Variety.objects.filter(named(words))[:SHOWN_FINDS] if words else []
    return render(request, "catalogue/variety_options.html", {"varieties": found})


@require_safe
def variety(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(lists.varieties(), pk=pk)
    context = {
        "variety": one,
        "plants": plants.stock_plants().filter(variety=one),
        "lots": one.lots.select_related("method", "place", "pots_place", "stuck_by")[:SHOWN_LOTS],
    }
    return render(request, "catalogue/variety.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, VARIETIES)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, VARIETIES, pk)
