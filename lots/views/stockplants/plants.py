"""Stock plants: the list, the page of one, the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.forms.stockplants import StockFilter, StockPlantForm
from lots.models import StockPlant
from lots.stockplants import plants
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.listing import csv_of, listing, page_of_list

SHOWN_CUTS = 12
COLUMNS = [
    *("code", "variety", "name", "health", "place", "since"),
    *("plants", "pieces_per_cut", "rest_weeks", "last_cut"),
]
STOCK = Catalogue(
    StockPlantForm,
    _("Stock plants"),
    _("New stock plant"),
    listed="stock",
    page="stock-plant",
)


@require_safe
def stock(request: HttpRequest) -> HttpResponse:
    form = StockFilter(request.GET)
    page = page_of_list(request, form.apply(plants.stock_plants()))
    return listing(request, "stockplants/plants.html", form, page)


@require_safe
def stock_csv(request: HttpRequest) -> HttpResponse:
    """All that the filter lets through, a row a plant."""
    return csv_of(
        "stock", COLUMNS, map(_cells, StockFilter(request.GET).apply(plants.stock_plants()))
    )


def _cells(plant: StockPlant) -> list[object]:
    cells = [plant.code, plant.variety.code, plant.variety, plant.health, plant.place, plant.since]
    return [*cells, plant.plants, plant.pieces_per_cut, plant.rest_weeks, plant.last_cut]


@require_safe
def stock_plant(request: HttpRequest, pk: int) -> HttpResponse:
    plant = get_object_or_404(plants.stock_plants(), pk=pk)
    cuts = plant.cuts.select_related("lot__method", "lot__variety", "lot__session")
    context = {
        "plant": plant,
        "generations": plants.ancestry(plant),
        "rests_until": plants.rests_until(plant),
        "cuts": cuts.order_by("-lot__stuck_on", "-pk")[:SHOWN_CUTS],
        "taken": plants.taken(plant),
    }
    return render(request, "stockplants/plant.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    spare_code = request.POST.get("spare_code")
    sent_before = StockPlant.objects.filter(code=spare_code or None).first()
    if sent_before:
        return redirect("stock-plant", sent_before.pk)
    return edit(request, STOCK, initial={"variety": request.GET.get("variety")})


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, STOCK, pk)
