"""The forms of label stocks and printers."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from labels.models import LENGTHS, LabelStock, Printer, Unit
from labels.sentences import Sentence
from labels.stock import INCH, MM, faults, shipped
from labels.stock import LabelStock as Measurements
from labels.stocks import every_stock
from labels.translating import translated
from lots.forms.catalogue import CatalogueForm


class StockForm(CatalogueForm):
    """A stock's measurements, typed in its own unit and stored in mm."""

    class Meta:
        model = LabelStock
        fields = ["name", "unit", "columns", "rows", *LENGTHS, "folded"]
        widgets = {"unit": forms.RadioSelect}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.measured: Measurements | None = None
        self.faults: list[tuple[str, Sentence]] = []
        self.initial_mm = kwargs.get("initial") or {}
        size = INCH.mm if self.instance.unit == Unit.INCH else 1
        for name in LENGTHS:
            self.fields[name].widget.attrs |= {"step": "any", "min": 0}
            shown = self.initial_mm.get(name, getattr(self.instance, name)) / size
            self.initial[name] = f"{shown:.4f}".rstrip("0").rstrip(".")
        self.fields["unit"].choices = Unit.choices

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        inches = data.get("unit") == Unit.INCH
        for name in LENGTHS:
            if name in data:
                typed = data[name] or 0.0
                data[name] = round(typed * INCH.mm, 4) if inches else typed
        if data.get("name", "").casefold() in {name.casefold() for name in shipped()}:
            why = _("A stock that comes with the book has this name; choose another.")
            self.add_error("name", why)
        self.measured = self._measured(data)
        if self.measured:
            self.faults = faults(self.measured, INCH if inches else MM)
        for name, fault in self.faults:
            self.add_error(name, translated(fault))
        return data

    def _measured(self, data: dict[str, Any]) -> Measurements | None:
        """The measurements, right or wrong; None if some are missing."""
        fields = ("columns", "rows", *LENGTHS)
        if any(data.get(name) is None for name in fields):
            return None
        measured = {name: data[name] for name in fields}
        return Measurements(data.get("name", ""), folded=bool(data.get("folded")), **measured)

    def measurements(self) -> Measurements | None:
        """The measurements as they stand in the form; None if some are missing."""
        if self.is_bound:
            self.full_clean()
            return self.measured
        stored = {f: getattr(self.instance, f) for f in ("columns", "rows", "folded", *LENGTHS)}
        return self._measured(stored | {k: v for k, v in self.initial_mm.items() if k in stored})


class PrinterForm(CatalogueForm):
    class Meta:
        model = Printer
        fields = ["name", "offset_x", "offset_y", "scale_percent"]


class TestSheetForm(forms.Form):
    __test__ = False  # for pytest: its name says what it prints

    stock = forms.ChoiceField(label=gettext_lazy("Label stock"))
    printer = forms.ModelChoiceField(
        Printer.objects.all(),
        label=gettext_lazy("Printer"),
        required=False,
        empty_label=gettext_lazy("as it comes, without nudge"),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.stocks = every_stock()
        self.fields["stock"].choices = [(name, name) for name in self.stocks]

    @property
    def chosen(self) -> Measurements:
        return self.stocks[self.cleaned_data["stock"]]
