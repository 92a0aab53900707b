"""The list of lots: filtered, sorted and searched; on paper and as CSV just so."""

import csv

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.csvbook.cells import shield
from lots.forms.ledger.filters import LotFilter
from lots.views.files import csv_answer
from lots.views.pages import PER_PAGE, page_of

COLUMNS = [
    *("code", "variety", "name", "method", "place", "pots_place", "flat", "stuck_on", "stuck_by"),
    *("units", "cells", "growing", "finished", "stage"),
]
ON_PAPER = 2000  # lots on one page, to be printed


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    form = LotFilter(request.GET)
    page = page_of(request, form.lots(), ON_PAPER if "whole" in request.GET else PER_PAGE)
    query = request.GET.copy()
    for name in ("page", "whole"):
        query.pop(name, None)
    context = {"form": form, "page": page, "query": query.urlencode()}
    return render(request, "ledger/lots.html", context)


@require_safe
def lots_csv(request: HttpRequest) -> HttpResponse:
    """All that the filter lets through, a row a lot."""
    answer = csv_answer("lots.csv")
    sheet = csv.writer(answer)
    sheet.writerow(COLUMNS)
    for lot in LotFilter(request.GET).lots().iterator(chunk_size=500):
        texts = [lot.code, lot.variety.code, lot.variety, lot.method, lot.place, lot.pots_place]
        texts += [lot.flat if lot.in_flat else None]
        counts = [lot.units, lot.cells, lot.pots_growing, lot.pots_finished, lot.stage]
        day = lot.stuck_on.isoformat() if lot.stuck_on else ""
        who = lot.stuck_by.initials if lot.stuck_by else ""
        sheet.writerow([*(shield(str(text or "")) for text in texts), day, shield(who), *counts])
    return answer
