"""The list of lots: filter by variety, stage, place, who stuck it, age; search."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.forms.ledger.filters import LotFilter
from lots.views.pages import page_of


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    form = LotFilter(request.GET)
    page = page_of(request, form.lots())
    query = request.GET.copy()
    query.pop("page", None)
    context = {"form": form, "page": page, "query": query.urlencode()}
    return render(request, "ledger/lots.html", context)
