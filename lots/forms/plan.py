"""What a plan has room for, what is settled by hand, and the session that is made of it."""

from datetime import date

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from lots.forms.catalogue import CatalogueForm
from lots.forms.fields import day_input
from lots.models import Limit, PlanSettings
from lots.models.days import check_day


class LimitForm(CatalogueForm):
    class Meta:
        model = Limit
        fields = ["week", "flats", "cells_per_flat", "minutes", "pot_area_m2"]
        widgets = {"week": day_input()}

    def clean(self) -> None:
        super().clean()
        if not self.errors and not any(
            self.cleaned_data.get(name) is not None for name in self.Meta.fields[1:]
        ):
            raise forms.ValidationError(
                _t("Nothing is limited yet: fill in at least one of flats, minutes or m².")
            )


class PlanSettingsForm(forms.ModelForm):
    class Meta:
        model = PlanSettings
        fields = ["confidence"]

    confidence = forms.IntegerField(
        label=_("How sure targets are to be met, in 100"),
        min_value=1,
        max_value=99,
        help_text=_("Of those that say nothing else. Surer is dearer: more is stuck."),
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.initial["confidence"] = round(100 * self.instance.confidence)

    def clean_confidence(self) -> float:
        return self.cleaned_data["confidence"] / 100


class PlanSessionForm(forms.Form):
    """The lines of a plan that are to be a session: each by its target, the day that is wanted, and
    its week."""

    day = forms.DateField(label=_("Day"), widget=day_input(), validators=[check_day])

    def __init__(self, data) -> None:
        super().__init__(data)
        self.lines = data.getlist("line")

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if day < timezone.localdate():
            raise forms.ValidationError(_t("That day is over; plan it for today or later."))
        return day

    def clean(self) -> None:
        if not self.lines:
            raise forms.ValidationError(_t("No line is ticked: tick those that are to be stuck."))
