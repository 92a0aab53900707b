"""What to offer a customer: a page, a CSV file and a PDF, without statistics."""

import csv

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import supply
from lots.csvbook.cells import shield
from lots.views.files import csv_answer, pdf_answer
from lots.views.pages import page_of

WEEKS = 8


@require_safe
def offer(request: HttpRequest) -> HttpResponse:
    context = _context()
    context["page"] = page_of(request, context["offers"])
    return render(request, "supply/offer.html", context)


@require_safe
def offer_csv(request: HttpRequest) -> HttpResponse:
    """A row for what is here, and one for each week in which there is more."""
    answer = csv_answer("offer.csv")
    sheet = csv.writer(answer)
    sheet.writerow(["variety", "name", "pot_size", "from", "pots"])
    context = _context()
    for one in context["offers"]:
        name = [one.variety.code, str(one.variety), one.size.name]
        name = [shield(text) for text in name]
        if one.now:
            sheet.writerow([*name, context["today"].isoformat(), one.now])
        for monday, pots in zip(context["mondays"], one.weeks, strict=True):
            if pots:
                sheet.writerow([*name, monday.isoformat(), pots])
    return answer


@require_safe
def offer_pdf(request: HttpRequest) -> HttpResponse:
    return pdf_answer("offer.pdf", "supply/offer_print.html", _context())


def _context() -> dict[str, object]:
    today = timezone.localdate()
    return {
        "today": today,
        "mondays": supply.mondays(WEEKS, today),
        "offers": supply.offers(WEEKS, today),
        "title": _("What we can offer"),
    }
