"""I grew that: what became of the lots that somebody stuck."""

from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.models import Lot, Photo
from lots.models.lot import STANDING
from lots.reports import own_work
from lots.views.pages import page_of

SHOWN_PHOTOS = 8


@require_safe
def mine(request: HttpRequest) -> HttpResponse:
    lots = Lot.objects.filter(stuck_by=request.user).select_related(
        "variety", "method", "place", "pots_place"
    )
    sums = lots.aggregate(
        lots=Count("pk"),
        units=Sum("stuck_units"),
        standing=Count("pk", filter=Q(stage__in=STANDING)),
        here=Sum("pots_finished"),
        left=Sum("pots_left"),
    )
    page = page_of(request, lots.order_by("-stuck_on", "-pk"))
    done = lots.filter(pots_finished__gt=0)
    context = {
        "page": page,
        "sums": sums,
        "work": own_work.of_person(request.user),
        "photos": Photo.objects.filter(lot__in=done).select_related("lot__variety")[:SHOWN_PHOTOS],
        "own": True,
    }
    return render(request, "ledger/mine.html", context)
