"""Fields that several forms share."""

from django import forms

from lots.models.lot import MOST_UNITS

MOST_DIGITS = 18  # of a row's number that every database can look for


class ManyRows(forms.ModelMultipleChoiceField):
    """Rows to choose among. A number too long to look for is no choice, and not a fault of the
    database, as it would be to Django's own field."""

    def clean(self, value):
        for number in value or ():
            if len(str(number)) > MOST_DIGITS:
                raise forms.ValidationError(
                    self.error_messages["invalid_choice"],
                    code="invalid_choice",
                    params={"value": number},
                )
        return super().clean(value)


def day_input() -> forms.DateInput:
    """A day, as a phone's calendar picks one."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


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
