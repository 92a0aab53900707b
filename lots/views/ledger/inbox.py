"""Records from phones that were out of reach, and settling those that the book refused."""

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse, RawPostDataException
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from lots.ledger import inbox
from lots.models import Refusal
from lots.views.pages import GET_OR_POST, posted, render_form

MOST_AT_ONCE = 500


@require_POST
def sync(request: HttpRequest) -> JsonResponse:
    """Take a batch of records; each is answered for itself."""
    try:
        records = inbox.read(request.body)
    except (ValueError, RawPostDataException):  # the latter of a form, which is read as one before
        return JsonResponse({"why": _('Send {"records": […]} as JSON.')}, status=400)
    if len(records) > MOST_AT_ONCE:
        why = _("Send at most %(n)s records at once.") % {"n": MOST_AT_ONCE}
        return JsonResponse({"why": why}, status=413)
    return JsonResponse({"records": inbox.take(records, by=request.user)})


class SettleForm(forms.Form):
    how = forms.CharField(
        label=gettext_lazy("How was it settled?"),
        max_length=200,
        help_text=gettext_lazy("For instance: counted again and logged, was a mistake."),
    )


@GET_OR_POST
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    """A refused record: what was sent, why it did not fit, and a word on how it was settled."""
    refusal = get_object_or_404(Refusal.objects.select_related("by", "settled_by"), pk=pk)
    form = SettleForm(posted(request))
    if form.is_valid():
        if refusal.settled_at is None:
            refusal.settled_at, refusal.settled_by = timezone.now(), request.user
            refusal.settled_how = form.cleaned_data["how"]
            refusal.save(update_fields=["settled_at", "settled_by", "settled_how"])
        messages.success(request, _("Settled."))
        return redirect("today")
    context = {"refusal": refusal, "form": form, "sent": _as_lines(refusal.sent)}
    return render_form(request, "ledger/refusal.html", context)


def _as_lines(sent: object) -> list[tuple[str, object]]:
    return list(sent.items()) if isinstance(sent, dict) else [("", sent)]
