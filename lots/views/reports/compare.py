"""Methods compared: which way of cutting works best here, for a variety or a crop group."""

from django.db.models import Avg, Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots import outlook
from lots.forms.reports import CompareFilter
from lots.models import CropGroup, Lot, Method, Variety
from lots.reports import charts
from lots.views.reports import practice, ranking


@require_safe
def compare(request: HttpRequest) -> HttpResponse:
    form = CompareFilter(request.GET)
    group, variety = form.chosen()
    context: dict[str, object] = {"form": form, "group": group, "variety": variety}
    methods = _methods(group, variety) if group else []
    if group and len(methods) > 1:
        found = outlook.comparing.compared(group, variety, methods)
        context |= _table(found, form.order())
        if form.cleaned_data["pairs"]:
            context["pairs"] = ranking.pairs(found, form.order())
    elif methods:
        context["only"] = methods[0][0]
    if group and methods:
        context["practices"] = practice.rows(group)
    return render(request, "reports/compare.html", context)


def _methods(group: CropGroup, variety: Variety | None) -> list[tuple[Method, float]]:
    """The methods used in a group, those with most lots of the variety first, each with its
    usual pieces a unit."""
    own = Q(variety=variety) if variety else Q()
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by()
    rows = list(
        stuck.values_list("method")
        .annotate(pieces=Avg("pieces_per_unit"), lots=Count("pk"), own=Count("pk", filter=own))
        .order_by("-own", "-lots", "method")
    )
    methods = Method.objects.in_bulk([row[0] for row in rows])
    return [(methods[pk], float(pieces)) for pk, pieces, *_ in rows]


def _table(found: outlook.comparing.Compared, by: str) -> dict[str, object]:
    """The methods in order with what is said of them. Where no method has the figure that was
    asked for, by the take."""
    wanted, by = by, by if any(getattr(way, by) for way in found.ways) else "take"
    ways = found.ranked(by)
    told = [(str(way.method), getattr(way, by)) for way in ways if getattr(way, by)]
    measure = ranking.measure(by)
    lines = [(name, of.mean, of.low, of.high) for name, of in told]
    return {
        "headline": ranking.headline(found, by),
        "rows": ranking.rows(found, by),
        "not_by": None if by == wanted else ranking.measure(wanted).name,
        "unknown": [way.method for way in ways if way.pots is None],
        "by": measure.name,
        "chart": charts.intervals(lines, measure.axis, percent=by == "take"),
    }
