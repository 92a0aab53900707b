"""Removing the nursery's own label stocks and printers. What was printed holds all that is on it,
so it stays and can be made again."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from labels.models import LabelStock, Printer
from lots.views.access import manager_only
from lots.views.editing import remove
from lots.views.pages import GET_OR_POST


@GET_OR_POST
@manager_only
def stock(request: HttpRequest, pk: int) -> HttpResponse:
    says = _("It can't be chosen any more. Sheets that were printed on it can be printed again.")
    return remove(request, LabelStock, pk, "labels", _("Labels"), says)


@GET_OR_POST
@manager_only
def printer(request: HttpRequest, pk: int) -> HttpResponse:
    says = _(
        "It can't be chosen any more. Sheets that were made for it can be printed again with its "
        "nudge, but no longer name it."
    )
    return remove(request, Printer, pk, "labels", _("Labels"), says)
