"""Fields that several forms share."""

from django import forms


def number(label, *, least: int = 1, required: bool = True, big: bool = False, **more):
    """A whole number that a phone asks for with its number pad."""
    attrs = {"inputmode": "numeric", "autocomplete": "off"}
    if big:
        attrs["class"] = "big"
    widget = forms.NumberInput(attrs=attrs)
    return forms.IntegerField(
        label=label, min_value=least, required=required, widget=widget, **more
    )
