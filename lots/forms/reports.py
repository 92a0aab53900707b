"""What methods are compared for."""

from django import forms
from django.utils.translation import gettext_lazy as _

from lots.models import CropGroup, Variety

# By what methods are put in order: the word in the address, what `outlook.comparing` calls it.
ORDERS = {"take": "take", "days": "finished", "pots": "pots"}


class CompareFilter(forms.Form):
    is_filter = True

    group = forms.ModelChoiceField(
        CropGroup.objects.all(), label=_("Crop group"), required=False, empty_label=_("choose one")
    )
    variety = forms.ModelChoiceField(
        Variety.objects.none(), label=_("Variety"), required=False, empty_label=_("the whole group")
    )

    by = forms.ChoiceField(
        label=_("Best first by"),
        required=False,
        choices=[
            ("take", _("take")),
            ("days", _("days to finish")),
            ("pots", _("pots from a leaf or shoot")),
        ],
    )
    # Whether each method is held against each, which only a link asks for.
    pairs = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, data) -> None:
        super().__init__(data.copy())
        wanted = data.get("variety", "")
        variety = Variety.objects.filter(pk=wanted).first() if wanted.isdecimal() else None
        if variety and not data.get("group"):
            self.data["group"] = str(variety.group_id)
        wanted = self.data.get("group", "")
        group = CropGroup.objects.filter(pk=wanted).first() if wanted.isdecimal() else None
        if group:
            self.fields["variety"].queryset = group.varieties.all()

    def chosen(self) -> tuple[CropGroup | None, Variety | None]:
        """The crop group and variety asked for; a wrong one is none."""
        self.is_valid()
        data = self.cleaned_data
        return data.get("group"), data.get("variety")

    def order(self) -> str:
        """By what: by the take if not said, or not rightly."""
        self.is_valid()
        return ORDERS.get(self.cleaned_data.get("by", ""), "take")
