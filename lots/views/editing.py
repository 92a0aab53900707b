"""What the pages of all catalogues share: the form of a row, and whether it is to go."""

from dataclasses import dataclass

from django.contrib import messages
from django.db.models import Model
from django.forms import ModelForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from lots.views.pages import render_form


@dataclass(frozen=True)
class Catalogue:
    """How a catalogue's rows are edited: by which form, and among which pages."""

    form: type[ModelForm]
    title: str  # of the list
    title_of_new: str
    listed: str  # the name of the list's address
    page: str = ""  # the name of the address of one row, if it has a page of its own


def edit(
    request: HttpRequest,
    catalogue: Catalogue,
    pk: int | None = None,
    initial: dict[str, object] | None = None,
) -> HttpResponse:
    """The form of a row, or of a new one; once saved, the row's page or the list."""
    row = get_object_or_404(catalogue.form._meta.model, pk=pk) if pk else None
    title = _("Change %(row)s") % {"row": row} if row else catalogue.title_of_new
    form = catalogue.form(request.POST or None, instance=row, initial=initial)
    if form.is_valid():
        saved = form.save()
        messages.success(request, _("%(row)s is saved.") % {"row": saved})
        return redirect(catalogue.page, saved.pk) if catalogue.page else redirect(catalogue.listed)
    crumbs = [(reverse(catalogue.listed), catalogue.title)]
    if row and catalogue.page:
        crumbs.append((reverse(catalogue.page, args=[pk]), _("Back to its page")))
    context = {"form": form, "title": title, "crumbs": crumbs}
    return render_form(request, "form.html", context)


def remove(
    request: HttpRequest, model: type[Model], pk: int, listed: str, title: str, says: str
) -> HttpResponse:
    """Ask whether a row is to go, and say what that means; on POST remove it. `listed` and `title`
    are the address and the name of the list that it stood in."""
    row = get_object_or_404(model, pk=pk)
    if request.method == "POST":
        row.delete()
        messages.success(request, _("%(row)s is removed.") % {"row": row})
        return redirect(listed)
    context = {"row": row, "back": reverse(listed), "title": title, "says": says}
    return render(request, "remove.html", context)
