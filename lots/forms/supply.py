"""What is wanted: how many pots of what, by when, and how surely."""

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from lots import supply
from lots.forms.fields import day_input, number
from lots.models import Lot, Method, PotSize, Variety
from lots.models.days import check_day

SURE = [
    ("0.5", _("as good as even: 50 in 100")),
    ("0.8", _("80 in 100")),
    ("0.9", _("90 in 100")),
    ("0.95", _("95 in 100")),
    ("0.99", _("99 in 100")),
]


class NeedForm(forms.Form):
    """One question of `supply.how_many`, asked in the address."""

    is_filter = True

    variety = forms.ModelChoiceField(Variety.objects.all(), label=_("Variety"))
    method = forms.ModelChoiceField(
        Method.objects.all(), label=_("Method"), required=False, empty_label=_("the usual one")
    )
    want = number(_("Pots wanted"))
    by = forms.DateField(label=_("Finished by"), widget=day_input(), validators=[check_day])
    pot_size = forms.ModelChoiceField(
        PotSize.objects.all(),
        label=_("Pot size"),
        required=False,
        empty_label=_("one piece a pot"),
    )
    confidence = forms.ChoiceField(label=_("How sure"), choices=SURE)
    on = forms.DateField(
        label=_("Stick on"),
        required=False,
        help_text=_("Empty: the latest day that hardly costs more."),
        widget=day_input(),
        validators=[check_day],
    )

    def __init__(self, data) -> None:
        asked = any(data.get(name) for name in ("variety", "want", "by"))
        super().__init__(
            {"confidence": str(supply.CONFIDENCE)} | data.dict() if asked else None,
            initial={"confidence": str(supply.CONFIDENCE)},
        )

    def clean_by(self):
        day = self.cleaned_data["by"]
        if day < timezone.localdate():
            raise forms.ValidationError(_t("That day is over; ask for today or later."))
        return day

    def clean_on(self):
        day = self.cleaned_data["on"]
        if day and day < timezone.localdate():
            raise forms.ValidationError(
                _t("That day is over, and nothing can be stuck on it any more.")
            )
        return day

    def clean(self):
        data = super().clean()
        if data.get("variety") and not data.get("method") and "method" not in self.errors:
            data["method"] = _usual_method(data["variety"])
            if data["method"] is None:
                self.add_error("method", _t("No lot of this variety was stuck yet: choose one."))
        return data

    def asked(self) -> supply.Asked | None:
        """The question, once all of it can be asked."""
        if not self.is_valid():
            return None
        told = self.cleaned_data
        return supply.Asked(**told | {"confidence": float(told["confidence"])})


def _usual_method(variety: Variety) -> Method | None:
    """The one by which the last lot of a variety was stuck."""
    last = Lot.objects.filter(variety=variety, stuck_on__isnull=False).order_by("-stuck_on", "-pk")
    lot = last.select_related("method").first()
    return lot and lot.method
