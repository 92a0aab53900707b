"""How a sheet of tags is to be printed."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from labels.lot_tags import Printable
from labels.models import PrintedTag, Printer
from labels.order import Order
from labels.stocks import every_stock

MOST = 5000
"""Labels of one sheet."""


class Per(models.TextChoices):
    ONE = "one", gettext_lazy("a lot, on its flat")
    POT = "pot", gettext_lazy("a pot")


class Which(models.TextChoices):
    ALL = "all", gettext_lazy("all")
    NEW = "new", gettext_lazy("only those not printed yet")
    WRONG = "wrong", gettext_lazy("only those that are no longer right")


class PrintForm(forms.Form):
    """The choices for a sheet, and the `order` that they come to.

    `counts` are how many tags there would be of `Which` to print; one with none, or that are all,
    is not offered.
    """

    CHOSEN = ("kind", "which", "stock", "printer", "copies", "per")

    kind = forms.ChoiceField(
        label=gettext_lazy("Kind of tag"),
        choices=[(kind.value, kind.label) for kind in (PrintedTag.Kind.LOT, PrintedTag.Kind.POT)],
    )
    which = forms.ChoiceField(label=gettext_lazy("Which tags"), required=False)
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

    def __init__(
        self, data: dict[str, Any], *, of_lots: bool, counts: Mapping[Which, int] | None = None
    ) -> None:
        self.stocks = every_stock()
        first = {"stock": next(iter(self.stocks)), "start": 1, "copies": 1, "per": "one"}
        super().__init__(first | {"kind": "lot"} | data)
        self.fields["stock"].choices = [(name, name) for name in self.stocks]
        self.fields["which"].choices = [
            (which.value, f"{which.label} ({count})")
            for which, count in (counts or {}).items()
            if which in (Which.ALL, data.get("which")) or 0 < count < counts[Which.ALL]
        ]
        if len(self.fields["which"].choices) < 2:
            del self.fields["which"]
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
                ngettext(
                    "This stock has one label at a time; start at 1.",
                    "A page of this stock has %(n)s labels; start at one of 1 to %(n)s.",
                    chosen.labels_a_page,
                )
                % {"n": chosen.labels_a_page},
            )
        return data

    @property
    def kind_of_tag(self) -> PrintedTag.Kind:
        return PrintedTag.Kind(self.cleaned_data.get("kind", "stock"))

    @property
    def part(self) -> Which:
        return Which(self.cleaned_data.get("which") or Which.ALL)

    def order(self, printables: list[Printable]) -> Order | None:
        """What is to be printed; None, with a sentence at a field, where that is nothing or too
        much."""
        data = self.cleaned_data
        per_pot = data.get("per") == Per.POT
        wanted = [(one, data["copies"] * (one.pots if per_pot else 1)) for one in printables]
        wanted = [(one, copies) for one, copies in wanted if copies]
        labels = sum(copies for _one, copies in wanted)
        if not printables and "which" in self.fields:
            self.add_error("which", _("There are none of these to print any more."))
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
