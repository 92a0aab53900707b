"""The list of lots: filtered, sorted and searched; on paper and as CSV just so."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from lots.forms.ledger.filters import LotFilter
from lots.models import Lot
from lots.views.listing import csv_of, listing, page_of_list

COLUMNS = [
    *("code", "variety", "name", "method", "place", "pots_place", "flat", "stuck_on", "stuck_by"),
    *("units", "cells", "growing", "finished", "stage"),
]


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    form = LotFilter(request.GET)
    return listing(request, "ledger/lots.html", form, page_of_list(request, form.lots()))


@require_safe
def lots_csv(request: HttpRequest) -> HttpResponse:
    """All that the filter lets through, a row a lot."""
    found = LotFilter(request.GET).lots().iterator(chunk_size=500)
    return csv_of("lots", COLUMNS, map(_cells, found))


def _cells(lot: Lot) -> list[object]:
    cells = [lot.code, lot.variety.code, lot.variety, lot.method, lot.place, lot.pots_place]
    cells += [lot.flat if lot.in_flat else None, lot.stuck_on]
    who = lot.stuck_by.initials if lot.stuck_by else None
    return [*cells, who, lot.units, lot.cells, lot.pots_growing, lot.pots_finished, lot.stage]
