"""Losses that ride in a form: a number for each reason."""

from django import forms
from django.utils.translation import ngettext

from lots.forms.fields import number
from lots.models import Loss, Record


class LossesMixin(forms.Form):
    """A number for each reason of loss."""

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for reason, label in Loss.Reason.choices:
            self.fields[f"lost_{reason}"] = number(label, least=0, required=False)

    @property
    def loss_fields(self):
        return [self[f"lost_{reason}"] for reason in Loss.Reason.values]

    @property
    def any_loss(self) -> bool:
        return any(field.value() for field in self.loss_fields)

    def lost(self) -> dict[str, int]:
        found = {reason: self.cleaned_data.get(f"lost_{reason}") for reason in Loss.Reason.values}
        return {reason: units for reason, units in found.items() if units}

    def where_lost(self) -> str:
        return Loss.Where.POT if self.at_pots or not self.lot.cells else Loss.Where.CELL

    def riders(self, **shared) -> list[Record]:
        note = self.cleaned_data.get("note", "")
        return [
            Loss(
                uuid=self.riders_uuid(reason),
                units=units,
                reason=reason,
                stage=self.where_lost(),
                note=note if self.verb == "loss" else "",
                **shared,
            )
            for reason, units in self.lost().items()
        ]

    def said_lost(self) -> str:
        lost = sum(self.lost().values())
        return ngettext("%(n)s lost", "%(n)s lost", lost) % {"n": lost} if lost else ""
