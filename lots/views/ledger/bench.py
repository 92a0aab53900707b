"""A bench at once: a row a lot, each saved by itself as one goes, or all that is typed together."""

from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils.datastructures import MultiValueDict
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import ledger
from lots.forms.ledger.bench import VERBS, ChosenForm, CommonForm, Row, Verb
from lots.models import Forecast
from lots.views.files import BENCH, takes
from lots.views.ledger.saving import save
from lots.views.pages import GET_OR_POST, page_of, posted
from lots.views.refused import add_refusal
from lots.worklists.chosen import Chosen, Rows, whole, with_parts

PER_PAGE = 40


@takes(BENCH)
@GET_OR_POST
def bench(request: HttpRequest, verb: str) -> HttpResponse:
    """Show the rows; on POST save the one whose button was pressed, or all in which something
    stands. What is refused, or not saved yet, stays as it was typed."""
    if verb not in VERBS:
        raise Http404
    data = posted(request)
    chosen = ChosenForm(request.GET).chosen()
    if chosen is None:
        raise Http404(_("There is no such flat, place or bench, or none was named."))
    common = CommonForm(data, VERBS[verb])
    if data is None:
        page = page_of(request, _offered(VERBS[verb], chosen), PER_PAGE)
        shown = whole(page.object_list)
        ticked = bool(chosen.flat or "lot" in chosen.query)
        rows = _rows(VERBS[verb], shown, ticked=ticked)
        return _page(request, VERBS[verb], chosen, common, rows, page)
    key, _colon, quick = data.get("save", "").partition(":")
    alone = key and request.headers.get("HX-Request")  # the answer is that row, and no other
    keys = [key] if alone else data.getlist("row")
    rows = _rows(VERBS[verb], with_parts(keys), data, request.FILES)
    pressed = next((row for row in rows if row.key == key), None)
    if pressed and quick:
        pressed.tap(quick)
    wanted = [pressed] if pressed else [row for row in rows if row.is_typed or row.has_photo]
    if common.is_valid():
        action = uuid4() if len(wanted) > 1 else None
        for row in wanted:
            _save(request, row, action)
    if alone and pressed:
        return render(request, "ledger/bench_saved.html", {"row": pressed, "common": common})
    _say(request, wanted)
    return _page(request, VERBS[verb], chosen, common, rows)


def _rows(
    verb: Verb,
    some: Rows,
    data: QueryDict | None = None,
    files: MultiValueDict | None = None,
    *,
    ticked: bool = False,
) -> list[Row]:
    """A row for each lot, with what is expected of it."""
    newest = Forecast.objects.filter(moment=Forecast.Moment.NEWEST)
    expected = newest.filter(lot__in={lot.pk for lot, _part in some})
    forecasts = {forecast.lot_id: forecast for forecast in expected}
    return [Row(verb, lot, part, forecasts.get(lot.pk), data, files, ticked) for lot, part in some]


def _save(request: HttpRequest, row: Row, action: UUID | None) -> None:
    if not row.is_typed:
        row.nothing = True
        return
    form = row.form
    if not form.is_valid():
        return
    try:
        entry, followed = save(form, request.user, action)
    except ledger.Refused as refusal:
        add_refusal(form, refusal)
        return
    row.entry, row.saved = entry, f"{form.said()}. {followed}" if followed else form.said()


def _say(request: HttpRequest, wanted: list[Row]) -> None:
    """How many rows were saved, with the way to take all of them back; how many were not."""
    saved = [row for row in wanted if row.saved]
    if saved:
        says = ngettext("%(n)s lot saved.", "%(n)s lots saved.", len(saved)) % {"n": len(saved)}
        undo = reverse(
            "lot-void", args=[saved[0].lot.code, saved[0].entry.KIND, saved[0].entry.uuid]
        )
        messages.success(request, format_html('{} <a href="{}">{}</a>', says, undo, _("Undo")))
    if not wanted:
        messages.warning(request, _("Nothing was typed or ticked, so nothing is saved."))
    elif len(saved) < len(wanted):
        left = len(wanted) - len(saved)
        says = ngettext(
            "%(n)s lot is NOT saved: its row says why. What was typed is still there.",
            "%(n)s lots are NOT saved: their rows say why. What was typed is still there.",
            left,
        )
        messages.error(request, says % {"n": left})


def _offered(verb: Verb, chosen: Chosen) -> Rows:
    return [(lot, part) for lot, part in chosen.rows if verb.offers(lot, part)]


def _page(
    request: HttpRequest,
    verb: Verb,
    chosen: Chosen,
    common: CommonForm,
    rows: list[Row],
    page=None,
) -> HttpResponse:
    wrong = common.errors or any(row.form.errors for row in rows)
    context = {
        "verb": verb,
        "verbs": VERBS.values(),
        "chosen": chosen,
        "query": urlencode(chosen.query, doseq=True),
        "common": common,
        "rows": rows,
        "page": page,
        "left_out": len(chosen.rows) - len(_offered(verb, chosen)) if page else 0,
    }
    return render(request, "ledger/bench.html", context, status=422 if wrong else 200)
