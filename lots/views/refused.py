"""What the ledger refuses, on the page that asked for it."""

from django import forms

from lots.ledger import Refused


def add_refusal(form: forms.Form, refusal: Refused) -> None:
    """Put the sentence at the field that it is about, or above the form if that has none such."""
    field = {"stock_plants": "plants"}.get(refusal.field, refusal.field)
    form.add_error(field if field in form.fields else None, str(refusal))
