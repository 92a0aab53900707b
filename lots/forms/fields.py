"""Fields that several forms share."""

from django import forms

from lots.models.lot import MOST_UNITS


def number(
    label,
    *,
    least: int = 1,
    max_value: int = MOST_UNITS,
    required: bool = True,
    big: bool = False,
    **more,
):
    """A whole number that a phone asks for with its number pad."""
    attrs = {"inputmode": "numeric", "autocomplete": "off"}
    if big:
        attrs["class"] = "big"
    return forms.IntegerField(
        label=label,
        min_value=least,
        max_value=max_value,
        required=required,
        widget=forms.NumberInput(attrs=attrs),
        **more,
    )
