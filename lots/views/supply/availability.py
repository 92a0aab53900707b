"""Availability: what stands finished and what is to come, as a page, a CSV file and a PDF."""

import csv

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import supply
from lots.csvbook.cells import shield
from lots.reports import charts
from lots.templatetags.book import week_number
from lots.views.files import csv_answer, pdf_answer
from lots.views.pages import page_of

SHOWN_WEEKS = 8


@require_safe
def availability(request: HttpRequest) -> HttpResponse:
    context = _context()
    context["page"] = page_of(request, context["lines"])
    return render(request, "supply/availability.html", context)


@require_safe
def availability_csv(request: HttpRequest) -> HttpResponse:
    """A row for what stands finished, and one for each week in which pots are expected; `in_cells`
    are those of them that are not potted yet. A band that no fit has told yet is empty."""
    answer = csv_answer("availability.csv")
    sheet = csv.writer(answer)
    sheet.writerow(["variety", "name", "pot_size", "from", "pots", "low", "high", "in_cells"])
    today = timezone.localdate()
    for line in supply.lines(None, today):
        name = [line.variety.code, str(line.variety), str(line.size or "")]
        name = [shield(text) for text in name]
        if line.now:
            sheet.writerow([*name, today.isoformat(), line.now, line.now, line.now, 0])
        for week in line.weeks:
            if week.pots or week.high:
                row = [week.monday.isoformat(), week.pots, week.low, week.high, week.cells]
                sheet.writerow([*name, *row])
    return answer


@require_safe
def availability_pdf(request: HttpRequest) -> HttpResponse:
    return pdf_answer(
        "availability.pdf",
        "supply/availability_print.html",
        _context() | {"today": timezone.localdate()},
    )


def _context() -> dict[str, object]:
    today = timezone.localdate()
    outlook = supply.ahead(SHOWN_WEEKS, today)
    lines = supply.lines(SHOWN_WEEKS, today)
    context = {
        "outlook": outlook,
        "lines": lines,
        "now": sum(line.now for line in lines),
        "cells": sum(line.cells for line in lines),
    }
    if outlook.pots:
        bars = (
            (week_number(week.monday), week.pots, week.low, week.high) for week in outlook.weeks
        )
        context["chart"] = charts.weeks(bars, _("pots"))
        context["says"] = render_to_string("supply/availability_says.html", context)
    return context
