"""The walking round: what to look at today, bench by bench, in the order of the walk."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots import worklists
from lots.models import Place


@require_safe
def walk(request: HttpRequest) -> HttpResponse:
    bench = request.GET.get("bench", "")
    lots = worklists.looks_due()
    if bench:
        lots = lots.filter(
            place__in=[place.pk for place in Place.objects.all() if place.bench == bench]
        )
    page = Paginator(lots, 25).get_page(request.GET.get("page"))
    context = {"bench": bench, "benches": worklists.benches_due(), "page": page}
    return render(request, "lots/round.html", context)
