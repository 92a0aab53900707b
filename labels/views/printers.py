"""Printers, by how much they are off."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext_lazy as _

from labels.forms.stocks import PrinterForm
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit

PRINTERS = Catalogue(PrinterForm, _("Labels"), _("New printer"), listed="labels")


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, PRINTERS)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, PRINTERS, pk)
