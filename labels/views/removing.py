"""Removing the nursery's own label stocks and printers. What was printed holds all that is on it,
so it stays and can be made again."""

from django.contrib import messages
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from labels.models import LabelStock, Printer
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST


@GET_OR_POST
@manager_only
def stock(request: HttpRequest, pk: int) -> HttpResponse:
    says = _("It can't be chosen any more. Sheets that were printed on it can be printed again.")
    return _remove(request, LabelStock, pk, says)


@GET_OR_POST
@manager_only
def printer(request: HttpRequest, pk: int) -> HttpResponse:
    says = _(
        "It can't be chosen any more. Sheets that were made for it can be printed again with its "
        "nudge, but no longer name it."
    )
    return _remove(request, Printer, pk, says)


def _remove(request: HttpRequest, model: type[Model], pk: int, says: str) -> HttpResponse:
    """Ask whether the row is to go; on POST remove it."""
    row = get_object_or_404(model, pk=pk)
    if request.method == "POST":
        row.delete()
        messages.success(request, _("%(row)s is removed.") % {"row": row})
        return redirect("labels")
    return render(request, "labels/remove.html", {"row": row, "says": says})
