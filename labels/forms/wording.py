"""The form of what stands on the tags."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from labels.models import TagSettings
from lots.forms.fields import ManyRows


class TagSettingsForm(forms.ModelForm):
    class Meta:
        model = TagSettings
        fields = [
            "nursery_line",
            "place",
            "protected_notice",
            "pet_groups",
            "passport",
            "member_state",
            "registration",
            "passport_words",
            "origin",
        ]
        field_classes = {"pet_groups": ManyRows}
        widgets = {"pet_groups": forms.CheckboxSelectMultiple}

    def clean_member_state(self) -> str:
        return self.cleaned_data["member_state"].upper()

    def clean_origin(self) -> str:
        return self.cleaned_data["origin"].upper()

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("passport"):
            for name in ("registration", "member_state"):
                if not data.get(name):
                    why = _("A plant passport can't be printed without it.")
                    self.add_error(name, why)
        return data
