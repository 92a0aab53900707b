"""I grew that: what became of the lots that somebody stuck."""

from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.models import Lot
from lots.models.lot import STANDING
from lots.views.pages import page_of


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
    return render(request, "ledger/mine.html", {"page": page, "sums": sums})
