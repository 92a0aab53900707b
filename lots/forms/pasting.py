"""A list of varieties pasted from a spreadsheet."""

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from lots.catalogue import pasting
from lots.catalogue.pasting import COLUMNS, MOST_LINES, Pasted


class VarietiesPasteForm(forms.Form):
    """The lines, and for each of their columns what it is."""

    lines = forms.CharField(
        label=_("Lines"),
        strip=False,
        max_length=400_000,
        error_messages={"required": _("There is no line yet: paste some.")},
        widget=forms.Textarea(attrs={"rows": 12, "class": "code", "spellcheck": "false"}),
        help_text=_(
            "A line each, as a spreadsheet copies them: the name, and if you like its crop group, "
            "code, how many stock plants, where they stand. A first line with heads says which "
            "column is which."
        ),
    )
    plants = forms.BooleanField(
        label=_("Each has one stock plant, where no column says how many"),
        required=False,
        initial=True,
    )

    def __init__(self, data: QueryDict | None = None) -> None:
        super().__init__(data)
        self.pasted: Pasted | None = None

    def clean_lines(self) -> str:
        lines = self.cleaned_data["lines"]
        rows = pasting.cells_of(lines)
        if not rows:
            raise forms.ValidationError(_t("There is no line yet: paste some."))
        if len(rows) > MOST_LINES:
            says = _t("These are %(n)s lines; paste %(most)s at most at a time.")
            raise forms.ValidationError(says % {"n": len(rows), "most": MOST_LINES})
        return lines

    def clean(self) -> None:
        if self.errors:
            return
        # What was chosen for the columns is of the lines that were seen; of others it says nothing.
        told = self.data.getlist("column")
        known = [name if name in COLUMNS else "" for name in told]
        self.pasted = pasting.read(
            self.cleaned_data["lines"], known or None, self.cleaned_data["plants"]
        )
