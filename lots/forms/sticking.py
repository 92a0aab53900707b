"""What was really stuck."""

from django import forms
from django.contrib.auth import get_user_model
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots import ledger
from lots.forms.fields import number
from lots.models import Flat, Lot, Place


class StickForm(forms.Form):
    units = number(_("Units stuck"), big=True)
    flat = forms.CharField(label=_("Flat"), max_length=20, required=False)
    place = forms.ModelChoiceField(Place.objects.all(), label=_("Place"), required=False)
    stuck_by = forms.ModelChoiceField(
        get_user_model().objects.filter(is_active=True), label=_("Stuck by")
    )
    on = forms.DateField(
        label=_("Stuck on"), widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    )

    def __init__(self, *args, lot: Lot, by, **kwargs) -> None:
        day = lot.session.day if lot.session else None
        today = timezone.localdate()
        kwargs["initial"] = {
            "units": lot.units,
            "flat": lot.flat,
            "place": lot.first_place_id,
            "stuck_by": lot.stuck_by_id or by.pk,
            "on": lot.stuck_on or min(day or today, today),
        }
        super().__init__(*args, **kwargs)

    def stick(self, lot: Lot) -> Lot:
        """Let the ledger write it. Raises ledger.Refused."""
        data = self.cleaned_data
        flat = Flat.objects.get_or_create(code=data["flat"])[0] if data["flat"] else None
        return ledger.stick(
            lot,
            units=data["units"],
            on=data["on"],
            by=data["stuck_by"],
            flat=flat,
            place=data["place"],
        )
