"""What stands on the tags beyond the facts of a lot."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from labels.forms.wording import TagSettingsForm
from labels.models import TagSettings
from lots.views.access import manager_only
from lots.views.pages import posted, render_form


@manager_only
def wording(request: HttpRequest) -> HttpResponse:
    row = TagSettings.objects.filter(pk=1).first() or TagSettings(pk=1)
    form = TagSettingsForm(posted(request), instance=row)
    if form.is_valid():
        form.save()
        messages.success(request, _("Saved: the next sheets are printed so."))
        return redirect("labels")
    context = {
        "form": form,
        "title": _("What stands on the tags"),
        "crumbs": [(reverse("labels"), _("Labels"))],
        "caution": _(
            "Only an operator authorised by the plant-health authority may issue plant passports, "
            "and for which plants and ways of sale one is needed the authority decides. Have it "
            "look at a printed tag before you use it."
        ),
    }
    return render_form(request, "form.html", context)
