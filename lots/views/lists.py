"""The list of lots: filter by variety, stage, place, who stuck it, age; search."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.forms.filters import LotFilter


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    form = LotFilter(request.GET)
    page = Paginator(form.lots(), 50).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    context = {"form": form, "page": page, "query": query.urlencode()}
    return render(request, "lots/lots.html", context)
