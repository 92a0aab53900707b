"""Methods compared: which way of cutting works best here, for a variety or a crop group."""

from django.db.models import Avg, Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from lots import charts, outlook
from lots.forecast.compare import Comparison, Estimate
from lots.forms.compare import CompareFilter
from lots.models import CropGroup, Lot, Method, Variety
from lots.outlook.comparing import Pair

MOST_METHODS = 4


@require_safe
def compare(request: HttpRequest) -> HttpResponse:
    form = CompareFilter(request.GET)
    group, variety = form.chosen()
    context: dict[str, object] = {"form": form, "group": group, "variety": variety}
    if group:
        methods, plants = _methods(group, variety)
        pairs = outlook.comparing.pairs(group, variety, methods)
        context["pairs"] = [(pair, _sentences(pair, plants)) for pair in pairs]
        if pairs:
            context |= _chart(pairs)
    return render(request, "lots/compare.html", context)


def _methods(
    group: CropGroup, variety: Variety | None
) -> tuple[list[tuple[Method, float]], dict[int, int]]:
    """The methods used in a group, those with most lots of the variety first, each with its
    usual pieces a unit; and how many stock plants were cut for each."""
    own = Q(variety=variety) if variety else Q()
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by()
    rows = list(
        stuck.values_list("method")
        .annotate(
            pieces=Avg("pieces_per_unit"),
            lots=Count("pk", distinct=True),
            own=Count("pk", filter=own, distinct=True),
        )
        .order_by("-own", "-lots", "method")[:MOST_METHODS]
    )
    cut = (
        stuck.filter(own)
        .values_list("method")
        .annotate(n=Count("cuts__stock_plant", distinct=True))
    )
    methods = Method.objects.in_bulk([row[0] for row in rows])
    return [(methods[pk], float(pieces)) for pk, pieces, *_ in rows], dict(cut)


def _sentences(pair: Pair, plants: dict[int, int]) -> list[str]:
    """What a pair says, with the evidence behind it."""
    take, faster = pair.take, pair.finished
    said = [
        _("%(first)s %(one)s against %(second)s %(two)s. %(chance)s")
        % {
            "first": _capital(pair.first),
            "one": _evidence(take.first, plants.get(pair.first.pk, 0)),
            "second": pair.second,
            "two": _evidence(take.second, plants.get(pair.second.pk, 0)),
            "chance": _chance(pair, take, _("By %(method)s more take")),
        },
        _chance(pair, faster, _("By %(method)s they finish sooner"), less=True),
    ]
    if pair.pots:
        said.append(_chance(pair, pair.pots, _("By %(method)s a leaf or shoot gives more pots")))
    return said


def _capital(method: Method) -> str:
    return f"{method}"[:1].upper() + f"{method}"[1:]


def _evidence(of: Estimate, plants: int) -> str:
    lots = ngettext("%(n)s lot", "%(n)s lots", of.lots) % {"n": of.lots}
    cut = ngettext("%(n)s stock plant", "%(n)s stock plants", plants) % {"n": plants}
    words = {"mean": f"{of.mean:.2f}", "low": f"{of.low:.2f}", "high": f"{of.high:.2f}"}
    return _("%(mean)s (%(low)s–%(high)s, %(lots)s from %(plants)s)") % (
        words | {"lots": lots, "plants": cut}
    )


def _chance(pair: Pair, of: Comparison, what: str, *, less: bool = False) -> str:
    """The likelier side of a comparison, in words."""
    chance = 1 - of.first_greater if less else of.first_greater
    method = pair.first if chance >= 0.5 else pair.second
    chance = max(chance, 1 - chance)
    claim = what % {"method": method}
    if chance < 0.65:
        return _("%(claim)s: chance %(n)s in 100, as good as even.") % {
            "claim": claim,
            "n": round(100 * chance),
        }
    return _("%(claim)s: chance %(n)s in 100.") % {
        "claim": claim,
        "n": min(round(100 * chance), 99),
    }


def _chart(pairs: list[Pair]) -> dict[str, object]:
    takes = {}
    for pair in pairs:
        takes[str(pair.first)] = pair.take.first
        takes[str(pair.second)] = pair.take.second
    rows = [(name, of.mean, of.low, of.high) for name, of in takes.items()]
    best = max(rows, key=lambda row: row[1])
    says = _("Most take by %(method)s: %(share)s units in 100, as far as the book can tell.")
    return {
        "chart": charts.intervals(rows, _("share that takes"), percent=True),
        "says": says % {"method": best[0], "share": round(100 * best[1])},
    }
