"""Flats: the list of those in which something stands, and what stands in one."""

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from lots.models import Flat
from lots.views.pages import page_of
from lots.worklists import chosen


@require_safe
def flats(request: HttpRequest) -> HttpResponse:
    living = Count("lots", filter=Q(lots__cells__gt=0))
    rows = Flat.objects.annotate(living=living).order_by("code")
    if not request.GET.get("all"):
        rows = rows.filter(living__gt=0)
    context = {"page": page_of(request, rows), "all": request.GET.get("all")}
    return render(request, "ledger/flats.html", context)


@require_safe
def flat(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Flat, pk=pk)
    context = {"flat": one, "rows": chosen.whole(chosen.of_flat(one).rows), "query": f"flat={pk}"}
    return render(request, "ledger/flat.html", context)
