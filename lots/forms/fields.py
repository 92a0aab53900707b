"""Fields that several forms share."""

from collections.abc import Mapping

from django import forms
from django.db.models import F, QuerySet
from django.db.models.expressions import OrderBy
from django.utils.translation import gettext_lazy as _

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


type Sorts = Mapping[str, tuple[str, list[str | F | OrderBy]]]
"""The ways in which a list can be sorted, the usual one first: what a page calls each, and by which
fields it sorts."""


def sort_field(sorts: Sorts) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=_("Sorted"),
        choices=[(name, says) for name, (says, _fields) in sorts.items()],
        required=False,
    )


def sorted_by(rows: QuerySet, sorts: Sorts, name: str | None) -> QuerySet:
    """The rows in the way of that name; in the usual one where none is named."""
    _says, fields = sorts[name or next(iter(sorts))]
    return rows.order_by(*fields)


def photo_field(**more) -> forms.FileField:
    """A photo, as a phone takes one."""
    attrs = {"accept": "image/*", "capture": "environment"}
    return forms.FileField(label=_("Photo"), widget=forms.FileInput(attrs=attrs), **more)


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
