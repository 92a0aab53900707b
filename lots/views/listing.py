"""A long list: filtered and sorted by its form, page by page on the screen, whole on paper and as
CSV."""

import csv
from collections.abc import Iterable

from django.core.paginator import Page
from django.db.models import QuerySet
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lots.csvbook.cells import shield
from lots.views.files import csv_answer
from lots.views.pages import PER_PAGE, page_of

ON_PAPER = 2000  # rows on one page, to be printed


def page_of_list(request: HttpRequest, rows: QuerySet) -> Page:
    """The page that the address asks for; all rows on one where it says `whole`."""
    return page_of(request, rows, ON_PAPER if "whole" in request.GET else PER_PAGE)


def listing(request: HttpRequest, template: str, form: Form, page: Page) -> HttpResponse:
    """The answer. `query` says filter and order again, for the links to the file and to paper."""
    query = request.GET.copy()
    for name in ("page", "whole"):
        query.pop(name, None)
    return render(request, template, {"form": form, "page": page, "query": query.urlencode()})


def csv_of(name: str, columns: Iterable[str], rows: Iterable[Iterable[object]]) -> HttpResponse:
    """The rows as a CSV file under a head; texts are kept from being read as formulas, and what is
    not known is an empty cell."""
    answer = csv_answer(f"{name}.csv")
    sheet = csv.writer(answer)
    sheet.writerow(columns)
    for row in rows:
        sheet.writerow("" if cell is None else shield(str(cell)) for cell in row)
    return answer
