"""Pot sizes: the list and the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.forms.catalogue import PotSizeForm
from lots.models import PotSize
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.pages import page_of

POT_SIZES = Catalogue(PotSizeForm, _("Pot sizes"), _("New pot size"), listed="pot-sizes")


@require_safe
def pot_sizes(request: HttpRequest) -> HttpResponse:
    page = page_of(request, PotSize.objects.all())
    return render(request, "catalogue/pot_sizes.html", {"page": page})


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, POT_SIZES)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, POT_SIZES, pk)
