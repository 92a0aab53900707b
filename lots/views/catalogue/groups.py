"""Crop groups: the list and the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from lots.catalogue import lists
from lots.forms.catalogue import CropGroupForm
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit
from lots.views.pages import page_of

GROUPS = Catalogue(CropGroupForm, _("Crop groups"), _("New crop group"), listed="groups")


@require_safe
def groups(request: HttpRequest) -> HttpResponse:
    page = page_of(request, lists.groups())
    return render(request, "catalogue/groups.html", {"page": page})


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, GROUPS)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, GROUPS, pk)
