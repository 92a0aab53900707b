"""What was really stuck."""

from django import forms
from django.contrib.auth import get_user_model
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lots import ledger
from lots.forms.asking import AskingForm
from lots.forms.fields import day_input, number
from lots.models import Flat, Lot, Place
from lots.models.days import check_day


class StickForm(AskingForm):
    units = number(_("Units stuck"), big=True)
    flat = forms.CharField(label=_("Flat"), max_length=20, required=False)
    place = forms.ModelChoiceField(Place.objects.all(), label=_("Place"), required=False)
    stuck_by = forms.ModelChoiceField(
        get_user_model().objects.filter(is_active=True), label=_("Stuck by")
    )
    on = forms.DateField(
        label=_("Stuck on"),
        validators=[check_day],
        widget=day_input(),
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
        self.planned = lot.planned_units
        if lot.is_stuck:
            self.fields["why"] = forms.CharField(
                label=_("What was wrong"), max_length=200, required=False
            )
            # Who stuck it may work here no longer.
            people = get_user_model().objects.filter(Q(is_active=True) | Q(pk=lot.stuck_by_id))
            self.fields["stuck_by"].queryset = people

    def clean(self) -> None:
        super().clean()
        units = self.cleaned_data.get("units")
        if not self.errors and self.looks_like_a_slip(units, self.planned):
            words = {"units": units, "planned": self.planned}
            self.ask(
                "units",
                units,
                gettext("%(units)s of %(planned)s planned. Is that right?") % words,
                gettext("Yes, %(units)s") % words,
            )

    def stick(self, lot: Lot, by) -> Lot:
        """Let the ledger write it, as said by this person. Raises ledger.Refused."""
        data = self.cleaned_data
        flat = Flat.get_or_make(data["flat"]) if data["flat"] else None
        return ledger.stick(
            lot,
            units=data["units"],
            on=data["on"],
            by=data["stuck_by"],
            flat=flat,
            place=data["place"],
            confirmed_by=by,
            why=data.get("why", ""),
        )
