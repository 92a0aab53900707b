"""Availability: what stands finished and what is to come, as a page, a CSV file and a PDF."""

import csv

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import availability as reads
from lots import charts
from lots.csvbook.cells import shield
from lots.templatetags.book import week as week_name
from lots.views.editing import page_of

SHOWN_WEEKS = 8
LISTED_WEEKS = 26


@require_safe
def availability(request: HttpRequest) -> HttpResponse:
    context = _context()
    context["page"] = page_of(request, context["lines"])
    return render(request, "lots/availability.html", context)


@require_safe
def availability_csv(request: HttpRequest) -> HttpResponse:
    """A row for what stands finished, and one a week for what is expected."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="availability.csv"'
    sheet = csv.writer(answer)
    sheet.writerow(["variety", "name", "pot_size", "from", "pots", "low", "high"])
    today = timezone.localdate()
    for line in reads.lines(LISTED_WEEKS):
        name = [line.variety.code, str(line.variety), str(line.size or "")]
        name = [shield(text) for text in name]
        if line.now:
            sheet.writerow([*name, today.isoformat(), line.now, line.now, line.now])
        for week in line.weeks:
            if week.high:
                row = [week.monday.isoformat(), week.pots, week.low, week.high]
                sheet.writerow([*name, *row])
    return answer


@require_safe
def availability_pdf(request: HttpRequest) -> HttpResponse:
    # It takes a second to load, and only printing needs it.
    from weasyprint import HTML

    context = _context() | {"today": timezone.localdate()}
    page = render_to_string("lots/availability_print.html", context)
    pdf = HTML(string=page, base_url=f"{settings.BASE_DIR / 'static'}/").write_pdf()
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="availability.pdf"'
    return answer


def _context() -> dict[str, object]:
    outlook = reads.expected(SHOWN_WEEKS)
    bars = ((week_name(week.monday), week.pots, week.low, week.high) for week in outlook.weeks)
    chart = charts.weeks(bars, _("pots"))
    context = {
        "outlook": outlook,
        "lines": reads.lines(SHOWN_WEEKS),
        "chart": chart if outlook.weeks else "",
        "coming": sum(week.pots for week in outlook.weeks),
    }
    if outlook.weeks:
        context["says"] = render_to_string("lots/availability_says.html", context)
    return context
