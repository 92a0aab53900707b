"""Label stocks: what there is, and the nursery's own by their measurements."""

from dataclasses import asdict

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from labels import sheet, stock
from labels.forms.stocks import StockForm, TestSheetForm
from labels.lot_tags import base_address
from labels.models import LabelStock, Printer, Printing
from labels.picture import picture
from labels.stocks import every_stock
from labels.symbols import symbol_on
from labels.tag import Tag
from labels.translating import translated
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST, posted

SHOWN_PRINTS = 10


@require_safe
@manager_only
def labels(request: HttpRequest) -> HttpResponse:
    """The label stocks, own ones and those of the newest prints first, and the QR that results on
    each; printers; what was printed."""
    base = base_address(request)
    example = _example(base)
    own = {row.name: row for row in LabelStock.objects.all()}
    stocks = [(one, symbol_on(one, example), own.get(name)) for name, one in every_stock().items()]
    prints = list(Printing.objects.select_related("by")[:SHOWN_PRINTS])
    used = own.keys() | {printing.stock_name for printing in prints}
    context = {
        "used": [row for row in stocks if row[0].name in used],
        "others": [row for row in stocks if row[0].name not in used],
        "printers": Printer.objects.all(),
        "prints": prints,
        "test": TestSheetForm(),
        "base": base,
        "base_is_set": bool(settings.NURSERY_ADDRESS),
    }
    return render(request, "labels/labels.html", context)


@GET_OR_POST
@manager_only
def new_stock(request: HttpRequest) -> HttpResponse:
    """A new stock, from nothing or as a copy of one that there is."""
    model = every_stock().get(request.GET.get("copy", ""))
    initial = (
        {**asdict(model), "name": _("Copy of %(stock)s") % {"stock": model.name}} if model else {}
    )
    return _edit(request, StockForm(posted(request), initial=initial), _("New label stock"))


@GET_OR_POST
@manager_only
def change_stock(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(LabelStock, pk=pk)
    form = StockForm(posted(request), instance=row)
    return _edit(request, form, _("Change %(row)s") % {"row": row.name}, row)


@require_safe
@manager_only
def draw_stock(request: HttpRequest) -> HttpResponse:
    """The drawing of measurements as they stand in the form, and what is wrong with them."""
    return render(request, "labels/drawing.html", _drawing(request, StockForm(request.GET)))


@require_safe
@manager_only
def test_sheet(request: HttpRequest) -> HttpResponse:
    form = TestSheetForm(request.GET)
    if not form.is_valid():
        sentences = [text for texts in form.errors.values() for text in texts]
        context = {"why": " ".join(sentences)}
        return render(request, "labels/cannot.html", context, status=422)
    printer = form.cleaned_data["printer"] or Printer()
    made = sheet.make_test_sheet(
        form.chosen, offset=printer.offset, scale=printer.scale, say=translated
    )
    response = HttpResponse(made.pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="test-sheet.pdf"'
    return response


def _edit(
    request: HttpRequest, form: StockForm, title: str, row: LabelStock | None = None
) -> HttpResponse:
    """The form of a stock; sent with `draw` it is only drawn."""
    if form.is_bound and "draw" not in request.POST and form.is_valid():
        saved = form.save()
        messages.success(request, _("%(row)s is saved.") % {"row": saved})
        return redirect("labels")
    context = {"form": form, "title": title, "row": row, **_drawing(request, form)}
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "labels/stock.html", context, status=status)


def _drawing(request: HttpRequest, form: StockForm) -> dict[str, object]:
    """What the drawing shows: the picture if there is something to draw, the faults, the QR."""
    measured = form.measurements()
    if measured is None:
        return {}
    faults = [fault for _field, fault in form.faults]
    return {
        "picture": picture(measured) if _drawable(measured) else None,
        "faults": faults,
        "symbol": None if faults else symbol_on(measured, _example(base_address(request))),
    }


def _drawable(measured: stock.LabelStock) -> bool:
    sides = (
        measured.page_width,
        measured.page_height,
        measured.label_width,
        measured.label_height,
    )
    return min(sides) > 0 and 1 <= measured.labels_a_page <= 5000


def _example(base: str) -> Tag:
    return Tag(
        name=(("Begonia", True),), code="7K3QFY", address=f"{base}/T/7K3QFY", method=_("leaf wedge")
    )
