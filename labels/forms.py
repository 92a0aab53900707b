"""How a sheet of tags is to be printed."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from labels.stock import LabelStock, shipped


class PrintForm(forms.Form):
    stock = forms.ChoiceField(label=gettext_lazy("Label stock"))
    start = forms.IntegerField(
        label=gettext_lazy("Start at label"),
        min_value=1,
        required=False,
        help_text=gettext_lazy("On a partly used sheet: the number of its first free label."),
    )
    copies = forms.IntegerField(
        label=gettext_lazy("Copies of each"), min_value=1, max_value=500, required=False
    )

    def __init__(self, data) -> None:
        first = next(iter(shipped()))
        super().__init__({"stock": first, "start": 1, "copies": 1} | data.dict())
        self.fields["stock"].choices = [(name, name) for name in shipped()]

    def clean(self):
        data = self.cleaned_data
        data["start"], data["copies"] = data.get("start") or 1, data.get("copies") or 1
        if "stock" in data and data["start"] > self.label_stock.labels_a_page:
            self.add_error(
                "start",
                _("A page of this stock has %(n)s labels; start at one of 1 to %(n)s.")
                % {"n": self.label_stock.labels_a_page},
            )
        return data

    @property
    def label_stock(self) -> LabelStock:
        return shipped()[self.cleaned_data["stock"]]
