"""Files that pages give: CSV, and PDF from a template; and how much a page takes."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpResponse
from django.template.loader import render_to_string

from lots.ledger.photos import LARGEST_FILE

# What a page takes at most, in bytes; `nursery.body_limits` refuses more unread.
FORM = 2 * 1024**2
PHOTO = LARGEST_FILE + 1024**2  # and the form around it
BENCH = 4 * PHOTO


def takes(most: int) -> Callable:
    """Say of a view that it takes bodies of so many bytes; others take a form."""

    def mark(view: Callable) -> Callable:
        view.largest_body = most
        return view

    return mark


def csv_answer(name: str) -> HttpResponse:
    """An answer to write a CSV file into."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def pdf_answer(name: str, template: str, context: dict[str, object]) -> HttpResponse:
    """A template as a PDF that the browser shows."""
    # It takes a second to load, and only printing needs it.
    from weasyprint import HTML

    page = render_to_string(template, context)
    pdf = HTML(string=page, base_url=f"{settings.BASE_DIR / 'static'}/").write_pdf()
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
