"""Printing tags: choose the stock, see what won't fit, get the PDF."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from labels import qr, sheet, stock
from labels.forms import PrintForm
from labels.layout import draw
from labels.lot_tags import base_address, tags_of
from labels.tag import Tag
from lots.cutting import in_cutting_order
from lots.models import Lot, StickingSession
from lots.views.access import manager_only
from lots.views.finding import lot_of


@require_safe
@manager_only
def session_print(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    lots = in_cutting_order(session)
    heading = _("Tags of session %(code)s") % {"code": session.code}
    return _print_page(request, lots, heading, back=session, pdf=reverse("session-tags", args=[pk]))


@require_safe
@manager_only
def session_tags(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    return _pdf(request, in_cutting_order(session), f"tags-{session.code}.pdf")


@require_safe
@manager_only
def lot_print(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    heading = _("Tag of %(lot)s") % {"lot": lot}
    return _print_page(request, [lot], heading, back=lot, pdf=reverse("lot-tag", args=[lot.code]))


@require_safe
@manager_only
def lot_tag(request: HttpRequest, code: str) -> HttpResponse:
    lot = lot_of(code)
    return _pdf(request, [lot], f"tag-{lot.code}.pdf")


@require_safe
@manager_only
def labels(request: HttpRequest) -> HttpResponse:
    """The label stocks: their measurements, and the QR that results on each."""
    base = base_address(request)
    example = Tag(
        name=(("Begonia", True),), code="7K3QFY", address=f"{base}/T/7K3QFY", method=_("leaf wedge")
    )
    stocks = [(one, _qr_on(one, example)) for one in stock.shipped().values()]
    context = {"stocks": stocks, "base": base, "base_is_set": bool(settings.NURSERY_ADDRESS)}
    return render(request, "labels/labels.html", context)


def _print_page(request: HttpRequest, lots: list[Lot], heading: str, **more) -> HttpResponse:
    base = base_address(request)
    tags = tags_of(lots, base)
    form = PrintForm(request.GET)
    context = {
        "form": form,
        "heading": heading,
        "tags": tags,
        "base": base,
        "base_is_set": bool(settings.NURSERY_ADDRESS),
        **more,
    }
    if form.is_valid():
        chosen = form.label_stock
        context["problems"] = sheet.check(tags, chosen)
        context["stock"] = chosen
        context["symbol"] = _qr_on(chosen, tags[0]) if tags else None
        count = len(tags) * form.cleaned_data["copies"] + form.cleaned_data["start"] - 1
        context["pages"] = -(-count // chosen.labels_a_page)
    return render(request, "labels/print.html", context, status=422 if form.errors else 200)


def _pdf(request: HttpRequest, lots: list[Lot], name: str) -> HttpResponse:
    form = PrintForm(request.GET)
    if not lots or not form.is_valid():
        sentences = [text for texts in form.errors.values() for text in texts]
        why = " ".join(sentences) or _("There are no tags to print: add a line first.")
        return render(request, "labels/cannot.html", {"why": why}, status=422)
    data = form.cleaned_data
    try:
        made = sheet.make(
            tags_of(lots, base_address(request)),
            form.label_stock,
            start=data["start"],
            copies=data["copies"],
        )
    except (sheet.CannotPrintError, qr.TooSmallError) as fault:
        return render(request, "labels/cannot.html", {"why": str(fault)}, status=422)
    response = HttpResponse(made.pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


def _qr_on(chosen: stock.LabelStock, tag: Tag) -> qr.Symbol | str:
    """The symbol that results on a stock, or the sentence why there is none."""
    try:
        return draw(tag, chosen).symbol
    except qr.TooSmallError as fault:
        return str(fault)
