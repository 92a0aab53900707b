"""Files that pages give: CSV, and PDF from a template."""

from django.conf import settings
from django.http import HttpResponse
from django.template.loader import render_to_string


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
