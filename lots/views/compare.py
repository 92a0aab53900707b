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
        pairs = outlook.comparing.pairs(group, variety, _methods(group, variety))
        context["pairs"] = [(pair, _sentences(pair)) for pair in pairs]
        if pairs:
            context |= _chart(pairs)
    return render(request, "lots/compare.html", context)


def _methods(group: CropGroup, variety: Variety | None) -> list[tuple[Method, float]]:
    """The methods used in a group, those with most lots of the variety first, each with its
    usual pieces a unit."""
    own = Q(variety=variety) if variety else Q()
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by()
    rows = list(
        stuck.values_list("method")
        .annotate(pieces=Avg("pieces_per_unit"), lots=Count("pk"), own=Count("pk", filter=own))
        .order_by("-own", "-lots", "method")[:MOST_METHODS]
    )
    methods = Method.objects.in_bulk([row[0] for row in rows])
    return [(methods[pk], float(pieces)) for pk, pieces, *_ in rows]


def _sentences(pair: Pair) -> list[str]:
    """What a pair says, with the evidence behind it."""
    take, faster = pair.take, pair.finished
    said = [
        _("%(first)s %(one)s against %(second)s %(two)s. %(chance)s")
        % {
            "first": _capital(pair.first),
            "one": _evidence(take.first),
            "second": pair.second,
            "two": _evidence(take.second),
            "chance": _chance(pair, take, _("By %(method)s more take")),
        },
        _chance(pair, faster, _("By %(method)s they finish sooner"), less=True),
    ]
    if pair.pots:
        said.append(_chance(pair, pair.pots, _("By %(method)s a leaf or shoot gives more pots")))
    said.append(_plants(take))
    return said


def _plants(of: Comparison) -> str:
    """How well the stock plants can be told from the methods."""
    if not of.difference.plants:
        return _("The book doesn't say which stock plants these lots were cut from.")
    if not of.both:
        return _(
            "No stock plant was cut both ways, so a part of the difference may be the plants': "
            "cut one both ways, or plan a side-by-side trial."
        )
    return ngettext(
        "%(n)s stock plant was cut both ways, which tells plants and methods apart.",
        "%(n)s stock plants were cut both ways, which tells plants and methods apart.",
        of.both,
    ) % {"n": of.both}


def _capital(method: Method) -> str:
    return f"{method}"[:1].upper() + f"{method}"[1:]


def _evidence(of: Estimate) -> str:
    words = {"mean": f"{of.mean:.2f}", "low": f"{of.low:.2f}", "high": f"{of.high:.2f}"}
    words["lots"] = ngettext("%(n)s lot", "%(n)s lots", of.lots) % {"n": of.lots}
    if not of.plants:
        return _("%(mean)s (%(low)s–%(high)s, %(lots)s)") % words
    plants = ngettext("%(n)s stock plant", "%(n)s stock plants", of.plants) % {"n": of.plants}
    return _("%(mean)s (%(low)s–%(high)s, %(lots)s from %(plants)s)") % (words | {"plants": plants})


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
