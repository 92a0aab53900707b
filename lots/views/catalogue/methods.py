"""Methods: the list, the how-to card of one, the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.forms.catalogue import MethodForm
from lots.models import Method
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.pages import page_of

METHODS = Catalogue(
    MethodForm,
    _("Methods"),
    _("New method"),
    listed="methods",
    page="method",
)


@require_safe
def methods(request: HttpRequest) -> HttpResponse:
    page = page_of(request, Method.objects.all())
    return render(request, "catalogue/methods.html", {"page": page})


@require_safe
def method(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Method, pk=pk)
    return render(request, "catalogue/method.html", {"method": one})


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, METHODS)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, METHODS, pk)
