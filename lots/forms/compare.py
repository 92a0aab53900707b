"""What methods are compared for."""

from django import forms
from django.utils.translation import gettext_lazy as _

from lots.models import CropGroup, Variety


class CompareFilter(forms.Form):
    is_filter = True

    group = forms.ModelChoiceField(
        CropGroup.objects.all(), label=_("Crop group"), required=False, empty_label=_("choose one")
    )
    variety = forms.ModelChoiceField(
        Variety.objects.none(), label=_("Variety"), required=False, empty_label=_("the whole group")
    )

    def __init__(self, data) -> None:
        super().__init__(data.copy())
        wanted = data.get("variety", "")
        variety = Variety.objects.filter(pk=wanted).first() if wanted.isdecimal() else None
        if variety and not data.get("group"):
            self.data["group"] = str(variety.group_id)
        group = self.data.get("group", "")
        if group.isdecimal():
            self.fields["variety"].queryset = Variety.objects.filter(group=group)

    def chosen(self) -> tuple[CropGroup | None, Variety | None]:
        """The crop group and variety asked for; a wrong one is none."""
        self.is_valid()
        data = self.cleaned_data
        return data.get("group"), data.get("variety")
