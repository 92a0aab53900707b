"""How a sheet of tags is to be printed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from labels.lot_tags import Printable
from labels.models import PrintedTag, Printer
from labels.order import Order
from labels.stocks import every_stock

MOST = 5000
"""Labels of one sheet."""


class Per(models.TextChoices):
    ONE = "one", gettext_lazy("a lot, on its flat")
    POT = "pot", gettext_lazy("a pot")


class PrintForm(forms.Form):
    """The choices for a sheet, and the `order` that they come to."""

    CHOSEN = ("kind", "stock", "printer", "copies", "per")

    kind = forms.ChoiceField(
        label=gettext_lazy("Kind of tag"),
        choices=[(kind.value, kind.label) for kind in (PrintedTag.Kind.LOT, PrintedTag.Kind.POT)],
    )
    stock = forms.ChoiceField(label=gettext_lazy("Label stock"))
    printer = forms.ModelChoiceField(
        Printer.objects.all(),
        label=gettext_lazy("Printer"),
        required=False,
        empty_label=gettext_lazy("as it comes, without nudge"),
    )
    copies = forms.IntegerField(
        label=gettext_lazy("Copies"), min_value=1, max_value=500, required=False
    )
    per = forms.ChoiceField(label=gettext_lazy("for each"), choices=Per.choices, required=False)
    start = forms.IntegerField(
        label=gettext_lazy("Start at label"),
        min_value=1,
        required=False,
        help_text=gettext_lazy("On a partly used sheet: the number of its first free label."),
    )
    uuid = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: dict[str, Any], *, of_lots: bool) -> None:
        self.stocks = every_stock()
        first = {"stock": next(iter(self.stocks)), "start": 1, "copies": 1, "per": "one"}
        super().__init__(first | {"kind": "lot"} | data)
        self.fields["stock"].choices = [(name, name) for name in self.stocks]
        if not of_lots:
            del self.fields["kind"], self.fields["per"]
        if not Printer.objects.exists():
            del self.fields["printer"]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        data["start"], data["copies"] = data.get("start") or 1, data.get("copies") or 1
        data["uuid"] = data.get("uuid") or uuid4()
        chosen = self.stocks.get(data.get("stock", ""))
        if chosen and data["start"] > chosen.labels_a_page:
            self.add_error(
                "start",
                _("A page of this stock has %(n)s labels; start at one of 1 to %(n)s.")
                % {"n": chosen.labels_a_page},
            )
        return data

    @property
    def kind_of_tag(self) -> PrintedTag.Kind:
        return PrintedTag.Kind(self.cleaned_data.get("kind", "stock"))

    def order(self, printables: list[Printable]) -> Order | None:
        """What is to be printed; None, with a sentence at a field, where that is nothing or too
        much."""
        data = self.cleaned_data
        per_pot = data.get("per") == Per.POT
        wanted = [(one, data["copies"] * (one.pots if per_pot else 1)) for one in printables]
        wanted = [(one, copies) for one, copies in wanted if copies]
        labels = sum(copies for _one, copies in wanted)
        if not wanted and printables:
            self.add_error("per", _("There are no pots yet: pot up first, or print one a lot."))
        if labels > MOST:
            self.add_error(
                "copies",
                _("These would be %(n)s labels; print at most %(most)s at once.")
                % {"n": labels, "most": MOST},
            )
        if not wanted or labels > MOST:
            return None
        printer = data.get("printer") or Printer()
        return Order(
            tags=tuple(one.tag for one, _copies in wanted),
            copies=tuple(copies for _one, copies in wanted),
            stock=self.stocks[data["stock"]],
            start=data["start"],
            offset=printer.offset,
            scale=printer.scale,
        )
