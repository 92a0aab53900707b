"""Putting right what a stuck lot is."""

from datetime import timedelta

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lots import ledger
from lots.forms.sticking.sessions import VarietyForm
from lots.models import Lot, Method, StickingSession

NEAR = timedelta(days=45)  # a lot was stuck in a session of about its day


class SessionChoice(forms.ModelChoiceField):
    def label_from_instance(self, session: StickingSession) -> str:
        return " · ".join(filter(None, (session.day.isoformat(), session.own_name)))


class CorrectForm(VarietyForm):
    """What a lot really is. All plants of the variety are to choose from: one that is gone or
    quarantined today may have been cut then."""

    past = True

    method = forms.ModelChoiceField(Method.objects.all(), label=gettext_lazy("Method"))
    session = SessionChoice(
        StickingSession.objects.none(),
        label=gettext_lazy("Session"),
        required=False,
        empty_label=gettext_lazy("no session"),
    )
    why = forms.CharField(
        label=gettext_lazy("What was wrong"),
        max_length=200,
        help_text=gettext_lazy("In a few words. It stays with the lot, as does what was there."),
    )

    def __init__(self, *args, lot: Lot, **kwargs) -> None:
        kwargs["initial"] = {
            "variety": lot.variety.code,
            "plants": [cut.stock_plant_id for cut in lot.cuts.all()],
            "method": lot.method_id,
            "session": lot.session_id,
        } | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        self.lot = lot
        near = StickingSession.objects.filter(
            day__range=(lot.stuck_on - NEAR, lot.stuck_on + NEAR)
        ) | StickingSession.objects.filter(pk=lot.session_id)
        self.fields["session"].queryset = near
        self.fields["plants"].error_messages["invalid_choice"] = _(
            "The plants of another variety were ticked. These are those of the variety above: tick "
            "the ones it was cut from, and save again."
        )

    def correct(self, by) -> Lot:
        """Let the ledger write it. Raises ledger.Refused."""
        data = self.cleaned_data
        return ledger.correct(
            self.lot,
            variety=data["variety"],
            method=data["method"],
            session=data["session"],
            plants=list(data["plants"]),
            by=by,
            why=data["why"],
        )
