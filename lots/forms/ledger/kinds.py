"""The form of each kind of record: its own, or one that follows from what the kind carries."""

from django import forms
from django.utils.text import capfirst

from lots.forms.ledger.moves import MoveForm, PotUpForm
from lots.forms.ledger.records import CheckForm, FinishForm, LeaveForm, LossForm, RecordForm
from lots.models import RECORDS, Record

OWN = {
    form.model: form for form in (CheckForm, LossForm, MoveForm, PotUpForm, FinishForm, LeaveForm)
}


class KindForm(RecordForm):
    """A kind that needs no more than its fields."""

    body = "ledger/record/fields.html"

    @property
    def carried(self) -> list[forms.BoundField]:
        """Its fields, but for the note that stands with those of all records."""
        return [self[one.field] for one in self.model.CARRIES if one.field != "note"]

    def entry(self, **shared) -> Record:
        names = [one.field for one in self.model.CARRIES]
        return self.model(**{name: self.cleaned_data[name] for name in names}, **shared)

    def said(self) -> str:
        return str(self.model._meta.verbose_name)


def form_of(model: type[Record]) -> type[RecordForm]:
    if model in OWN:
        return OWN[model]
    shown = {
        "model": model,
        "verb": model.KIND,
        "heading": capfirst(model._meta.verbose_name),
    }
    fields = forms.fields_for_model(model, [one.field for one in model.CARRIES])
    return type(f"{model.__name__}Form", (KindForm,), shown | fields)


# By their verb.
FORMS = {form.verb: form for form in map(form_of, RECORDS.values())}
