"""Varieties: the list, the page of one, the form, and finding one by a few letters."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots import supply
from lots.catalogue import lists
from lots.catalogue.faces import faces
from lots.catalogue.lists import named
from lots.forms.catalogue import VarietyFilter, VarietyForm
from lots.ledger import photos
from lots.models import Variety
from lots.models.lot import STANDING
from lots.stockplants import pieces, plants
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.listing import csv_of, listing, page_of_list

SHOWN_LOTS, SHOWN_WEEKS = 12, 8
MOST_PIECES = 10**6
SHOWN_FINDS = 20
COLUMNS = ["code", "name", "group", "standing_lots", "stock_plants", "protected", "licence"]
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
    page = page_of_list(request, form.apply(lists.varieties()))
    pictures = faces(one.pk for one in page)
    for one in page:
        one.picture = pictures.get(one.pk)
    return listing(request, "catalogue/varieties.html", form, page)


@require_safe
def varieties_csv(request: HttpRequest) -> HttpResponse:
    """All that the filter lets through, a row a variety."""
    found = VarietyFilter(request.GET).apply(lists.varieties())
    return csv_of("varieties", COLUMNS, map(_cells, found))


def _cells(one: Variety) -> list[object]:
    cells = [one.code, one, one.group, one.standing, one.plants]
    return [*cells, "yes" if one.protected else "", one.licence]


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
    today = timezone.localdate()
    lots = one.lots.select_related("method", "place", "pots_place", "stuck_by")
    context = {
        "variety": one,
        "photos": photos.of_variety(one)[:SHOWN_LOTS],
        "face": faces([one.pk]).get(one.pk),
        "plants": plants.stock_plants().filter(variety=one),
        "gives": sum(gift.pieces for gift in pieces.gifts(one, MOST_PIECES, today, today)[0]),
        "lines": supply.lines(SHOWN_WEEKS, today, [one.pk]),
        "targets": supply.served(today, variety=one)[:SHOWN_LOTS],
        "potted": lists.potted_of(one),
        "standing": lots.filter(stage__in=STANDING)[:SHOWN_LOTS],
        "past": lots.exclude(stage__in=STANDING)[:SHOWN_LOTS],
    }
    return render(request, "catalogue/variety.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, VARIETIES)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, VARIETIES, pk)
