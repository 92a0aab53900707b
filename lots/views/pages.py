"""What all pages share: what they answer to, lists by pages, and a form with its faults."""

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

PER_PAGE = 50

GET_OR_POST = require_http_methods(["GET", "HEAD", "POST"])


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent, for a form to bind to; None where nothing was, so that it shows unbound."""
    return request.POST if request.method == "POST" else None


def render_form(request: HttpRequest, template: str, context: dict[str, object]) -> HttpResponse:
    """The page of the context's `form`: answered with 422 where something in it is wrong."""
    return render(request, template, context, status=422 if context["form"].errors else 200)


def page_of(request: HttpRequest, rows: QuerySet | list, per_page: int = PER_PAGE) -> Page:
    """The page of the rows that the address asks for; the nearest there is for a wrong one."""
    return Paginator(rows, per_page).get_page(request.GET.get("page"))
