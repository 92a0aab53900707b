"""A sheet that was asked for: how far it is, and once it is made, its PDF and pictures."""

import io
from itertools import accumulate

import pypdfium2
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from labels import making
from labels.models import Printing
from labels.order import Order
from lots.views.access import manager_only

RESOLUTIONS = (203, 300, 600)
"""Dots an inch of label printers."""


@require_safe
@manager_only
def printing(request: HttpRequest, uuid: str) -> HttpResponse:
    """How far a sheet is; made anew if it is no longer kept."""
    found = get_object_or_404(Printing.objects.select_related("by", "printer"), uuid=uuid)
    order = found.order()
    context = {
        "printing": found,
        "order": order,
        "making": making.make(order, patience=0.2),
        "pictures": pictures(order),
        "resolutions": RESOLUTIONS,
    }
    page = "labels/progress.html" if "HX-Request" in request.headers else "labels/printing.html"
    return render(request, page, context)


def pictures(order: Order) -> list[tuple[str, int]]:
    """For each tag on a roll its code and the page it is on first; copies are the same picture."""
    if order.stock.labels_a_page > 1:
        return []
    pages = accumulate(order.copies, initial=1)
    return [(tag.code, page) for tag, page in zip(order.tags, pages, strict=False)]


@require_safe
@manager_only
def printing_pdf(request: HttpRequest, uuid: str) -> HttpResponse:
    found = get_object_or_404(Printing, uuid=uuid)
    response = HttpResponse(making.pdf(found.order()), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="tags-{found.at:%Y-%m-%d}.pdf"'
    return response


@require_safe
@manager_only
def printing_png(request: HttpRequest, uuid: str, page: int) -> HttpResponse:
    """One page of the sheet as dots, black or white, for label printers that take pictures."""
    found = get_object_or_404(Printing, uuid=uuid)
    order = found.order()
    asked = request.GET.get("dpi", "300")
    if asked not in map(str, RESOLUTIONS) or not 1 <= page <= order.pages:
        why = _("A picture is of a page from 1 to %(pages)s, with 203, 300 or 600 dots an inch.")
        context = {"why": why % {"pages": order.pages}}
        return render(request, "labels/cannot.html", context, status=422)
    response = HttpResponse(png(making.pdf(order), page, int(asked)), content_type="image/png")
    response["Content-Disposition"] = f'inline; filename="tag-{page}-{asked}dpi.png"'
    return response


def png(pdf: bytes, page: int, dpi: int) -> bytes:
    """A page of a PDF (from 1) in black and white. Grey edges would be dithered by a printer, so
    each dot is what more than half of it is."""
    dots = pypdfium2.PdfDocument(pdf)[page - 1].render(scale=dpi / 72, grayscale=True).to_pil()
    target = io.BytesIO()
    dots.point(lambda grey: 255 * (grey > 127), mode="1").save(target, "PNG", dpi=(dpi, dpi))
    return target.getvalue()
