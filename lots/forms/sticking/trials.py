"""Planning a side-by-side trial."""

import secrets

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lots.forms.fields import number
from lots.forms.sticking.sessions import VarietyForm
from lots.models import Arm, Method, Place, Trial
from lots.models.trial import LETTERS

SEEDS = 2**31  # what every database's whole numbers hold


def new_seed() -> int:
    return secrets.randbelow(SEEDS)


class TrialForm(VarietyForm):
    """One variety, two arms, so many flats; the seed comes with the form."""

    seed = forms.IntegerField(
        min_value=0, max_value=SEEDS - 1, initial=new_seed, widget=forms.HiddenInput
    )
    question = forms.CharField(
        label=gettext_lazy("Question"),
        max_length=Trial._meta.get_field("question").max_length,
        help_text=gettext_lazy("What you want to know: do wedges take better than whole leaves?"),
    )
    units = number(
        gettext_lazy("Units of each arm in a flat"),
        max_value=300,
        help_text=gettext_lazy("A flat holds twice as many."),
    )
    flats = number(
        gettext_lazy("Flats"),
        max_value=40,
        help_text=gettext_lazy("Several: each is compared within itself."),
    )
    across = number(
        gettext_lazy("Cells in a row of the flat"),
        max_value=30,
        help_text=gettext_lazy("The plan is drawn in such rows."),
    )
    pieces_per_unit = number(gettext_lazy("Pieces a unit"), initial=1)
    place = forms.ModelChoiceField(
        Place.objects.all(),
        label=gettext_lazy("Place"),
        required=False,
        help_text=gettext_lazy("Where the flats stand side by side."),
    )

    field_order = ["seed", "question"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for letter in LETTERS:
            name = letter.lower()
            self.fields |= {
                f"method_{name}": forms.ModelChoiceField(
                    Method.objects.all(), label=gettext_lazy("Method")
                ),
                f"medium_{name}": forms.CharField(
                    label=gettext_lazy("Medium"), max_length=80, required=False
                ),
                f"hormone_{name}": forms.CharField(
                    label=gettext_lazy("Rooting hormone"),
                    max_length=80,
                    required=False,
                    help_text=gettext_lazy("As on its label; the label is the law."),
                ),
            }

    def clean(self) -> None:
        ways = [self._way(letter) for letter in LETTERS]
        if ways[0]["method"] and ways[0] == ways[1]:
            raise forms.ValidationError(
                _("Both arms are the same. Give them another method, medium or rooting hormone.")
            )

    def arms(self) -> list[Arm]:
        """The two arms, not saved."""
        return [Arm(**self._way(letter)) for letter in LETTERS]

    def _way(self, letter: str) -> dict[str, object]:
        names = ("method", "medium", "hormone")
        return {name: self.cleaned_data.get(f"{name}_{letter.lower()}") for name in names}

    def bound_arms(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields of each arm under its letter, for the page."""
        names = ("method", "medium", "hormone")
        return [(each, [self[f"{name}_{each.lower()}"] for name in names]) for each in LETTERS]
