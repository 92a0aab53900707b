"""Varieties pasted from a spreadsheet: seen first, then added."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.catalogue import pasting
from lots.catalogue.pasting import COLUMNS
from lots.forms.pasting import VarietiesPasteForm
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST, posted, render_form


@GET_OR_POST
@manager_only
def varieties_paste(request: HttpRequest) -> HttpResponse:
    form = VarietiesPasteForm(posted(request))
    if form.is_valid() and "add" in request.POST and form.pasted.new:
        try:
            varieties, plants = pasting.write(form.pasted, request.user)
        except IntegrityError:
            form.add_error(None, _("The book was changed meanwhile: look at the lines once more."))
        else:
            says = ngettext("%(n)s variety is added", "%(n)s varieties are added", varieties)
            also = ngettext("with %(n)s stock plant.", "with %(n)s stock plants.", plants)
            messages.success(request, f"{says % {'n': varieties}}, {also % {'n': plants}}")
            return redirect("varieties")
    context = {"form": form, "columns": []}
    if form.pasted:
        heads = form.pasted.heads or [""] * len(form.pasted.columns)
        heads += [""] * (len(form.pasted.columns) - len(heads))
        context["columns"] = list(zip(heads, form.pasted.columns, strict=True))
        context["choices"] = [(name, says) for name, (says, _words) in COLUMNS.items()]
    return render_form(request, "catalogue/varieties_paste.html", context)
