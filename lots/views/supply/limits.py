"""Limits: what weeks have room for, and how sure targets are to be met."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lots.forms.plan import LimitForm, PlanSettingsForm
from lots.models import Limit, PlanSettings
from lots.supply.plan.room import CELLS_PER_FLAT, PIECES_PER_HOUR
from lots.views.access import manager_only
from lots.views.editing import Catalogue, edit, remove
from lots.views.pages import GET_OR_POST, page_of, render_form

TITLE = gettext_lazy("Limits")
LIMITS = Catalogue(LimitForm, TITLE, gettext_lazy("New limits"), listed="limits")


@GET_OR_POST
@manager_only
def limits(request: HttpRequest) -> HttpResponse:
    row = PlanSettings.objects.filter(pk=PlanSettings.THE_ONE).first()
    form = PlanSettingsForm(request.POST or None, instance=row or PlanSettings(pk=1))
    if form.is_valid():
        form.save()
        messages.success(request, _("Saved; the plan is worked out anew."))
        return redirect("limits")
    context = {
        "form": form,
        "page": page_of(request, Limit.objects.all()),
        "every_week": Limit.objects.filter(week=None).exists(),
        "cells": CELLS_PER_FLAT,
        "pace": PIECES_PER_HOUR,
    }
    return render_form(request, "supply/limits.html", context)


@manager_only
def new(request: HttpRequest) -> HttpResponse:
    return edit(request, LIMITS)


@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return edit(request, LIMITS, pk)


@GET_OR_POST
@manager_only
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    says = _("The plan then has these weeks as every other, or without a limit.")
    return remove(request, Limit, pk, "limits", str(TITLE), says)
