"""The walking round: what to look at today, bench by bench, in the order of the walk."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.views.pages import page_of
from lots.worklists import walk


@require_safe
def walk_round(request: HttpRequest) -> HttpResponse:
    bench = request.GET.get("bench", "")
    stops = walk.stops()
    there = [stop for stop in stops if stop.part.bench == bench] if bench else stops
    page = page_of(request, there, 25)
    context = {
        "bench": bench,
        "benches": walk.benches(stops),
        "page": page,
        "rows": walk.with_lots(page.object_list),
        "lots": len({stop.pk for stop in there}),
        "query": urlencode({"due": 1} | ({"bench": bench} if bench else {})),
    }
    return render(request, "worklists/round.html", context)
