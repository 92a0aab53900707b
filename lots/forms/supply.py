"""What is wanted: how many pots of what, by when, and how surely."""

import re
from collections.abc import Iterable
from datetime import date

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from lots import supply
from lots.catalogue.pasting import separator
from lots.csvbook.faults import Fault
from lots.forms.catalogue import CatalogueForm
from lots.forms.fields import day_input, number
from lots.models import Lot, Method, PotSize, Target, Variety
from lots.models.days import check_day

SURE = [
    ("0.5", _("as good as even: 50 in 100")),
    ("0.8", _("80 in 100")),
    ("0.9", _("90 in 100")),
    ("0.95", _("95 in 100")),
    ("0.99", _("99 in 100")),
]


ISO_WEEK = re.compile(r"\b([0-9]{4})-[Ww]([0-9]{2})\b")


def _last_day(week: re.Match[str]) -> str:
    """The Sunday of an ISO week; as it was typed where there is no such week."""
    try:
        return date.fromisocalendar(int(week[1]), int(week[2]), 7).isoformat()
    except ValueError:
        return week[0]


class TargetForm(CatalogueForm):
    pots = number(_("Pots"))
    confidence = forms.TypedChoiceField(
        label=_("How sure"), coerce=float, empty_value=None, required=False
    )
    every_weeks = number(
        _("Again every so many weeks"),
        max_value=520,
        required=False,
        help_text=_("Empty: wanted once."),
    )

    class Meta:
        model = Target
        fields = [
            *("variety", "pot_size", "pots", "wanted_by", "confidence"),
            *("every_weeks", "until", "for_whom", "note"),
        ]
        widgets = {
            "wanted_by": day_input(),
            "until": day_input(),
            "note": forms.Textarea(attrs={"rows": 2}),
        }
        help_texts = {"until": _("The last day of one that is wanted again. Empty: for good.")}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        usual = _t("as usual: %(n)s in 100") % {"n": round(100 * supply.usual_confidence())}
        own = self.instance.confidence
        known = [float(value) for value, _label in SURE]
        choices = [("", usual), *SURE]
        if own is not None and own not in known:
            choices.append((own, _t("%(n)s in 100") % {"n": f"{100 * own:g}"}))
        self.fields["confidence"].choices = choices

    def clean(self) -> None:
        super().clean()
        told = self.cleaned_data
        if told.get("until") and not told.get("every_weeks") and "every_weeks" not in self.errors:
            self.add_error(
                "every_weeks", _t("It has a last day: say every how many weeks it is wanted again.")
            )
        elif told.get("until") and told.get("wanted_by") and told["until"] < told["wanted_by"]:
            self.add_error("until", _t("No last day can be before the first."))

    def clean_wanted_by(self):
        day = self.cleaned_data["wanted_by"]
        if "wanted_by" in self.changed_data and day < timezone.localdate():
            raise forms.ValidationError(_t("That day is over; want them for today or later."))
        return day


class TargetsPasteForm(forms.Form):
    """Lines of a spreadsheet, a target each."""

    COLUMNS = [
        *("variety", "pot_size", "pots", "wanted_by", "for", "note"),
        *("confidence", "every_weeks", "until"),
    ]

    lines = forms.CharField(
        label=_("Lines"),
        strip=False,
        max_length=200_000,
        widget=forms.Textarea(attrs={"rows": 12, "class": "code", "spellcheck": "false"}),
        help_text=_(
            "A line each: code of the variety, pot size, pots, day (2027-05-20) or week "
            "(2027-W20), for whom, note; and if you like how sure (0.95), every how many weeks "
            "again, and until when. With tabs between, as a spreadsheet copies them, or "
            "semicolons, or commas."
        ),
    )

    def clean_lines(self) -> str:
        """The lines with their head, as `targets.csv` has it; a week stands for its last day."""
        text = ISO_WEEK.sub(_last_day, self.cleaned_data["lines"].strip("\r\n"))
        if not text.strip():
            raise forms.ValidationError(_t("There is no line yet: paste some."))
        first = text.partition("\n")[0]
        self.has_head = first.strip().casefold().startswith("variety")
        if self.has_head:
            return text
        between = separator(first) or ","
        return between.join(self.COLUMNS[: max(first.count(between) + 1, 4)]) + "\n" + text

    def tell(self, faults: Iterable[Fault]) -> None:
        """Say what was wrong, by the lines as they were pasted."""
        for fault in faults:
            row = fault.row and fault.row - (not self.has_head)
            where = _t("Line %(row)s") % {"row": row} if row else ""
            told = ", ".join(filter(None, [where, fault.column]))
            self.add_error("lines", f"{told}: {fault.says}" if told else fault.says)


class NeedForm(forms.Form):
    """One question of `supply.how_many`, asked in the address."""

    is_filter = True

    variety = forms.ModelChoiceField(Variety.objects.all(), label=_("Variety"))
    method = forms.ModelChoiceField(
        Method.objects.all(), label=_("Method"), required=False, empty_label=_("the usual one")
    )
    want = number(_("Pots wanted"))
    by = forms.DateField(label=_("Finished by"), widget=day_input(), validators=[check_day])
    pot_size = forms.ModelChoiceField(
        PotSize.objects.all(),
        label=_("Pot size"),
        required=False,
        empty_label=_("one piece a pot"),
    )
    confidence = forms.ChoiceField(label=_("How sure"), choices=SURE)
    on = forms.DateField(
        label=_("Stick on"),
        required=False,
        help_text=_("Empty: the latest day that hardly costs more."),
        widget=day_input(),
        validators=[check_day],
    )

    def __init__(self, data) -> None:
        asked = any(data.get(name) for name in ("variety", "want", "by"))
        super().__init__(
            {"confidence": str(supply.CONFIDENCE)} | data.dict() if asked else None,
            initial={"confidence": str(supply.CONFIDENCE)},
        )

    def clean_by(self):
        day = self.cleaned_data["by"]
        if day < timezone.localdate():
            raise forms.ValidationError(_t("That day is over; ask for today or later."))
        return day

    def clean_on(self):
        day = self.cleaned_data["on"]
        if day and day < timezone.localdate():
            raise forms.ValidationError(
                _t("That day is over, and nothing can be stuck on it any more.")
            )
        return day

    def clean(self):
        data = super().clean()
        if data.get("variety") and not data.get("method") and "method" not in self.errors:
            data["method"] = _usual_method(data["variety"])
            if data["method"] is None:
                self.add_error("method", _t("No lot of this variety was stuck yet: choose one."))
        return data

    def asked(self) -> supply.Asked | None:
        """The question, once all of it can be asked."""
        if not self.is_valid():
            return None
        told = self.cleaned_data
        return supply.Asked(**told | {"confidence": float(told["confidence"])})


def _usual_method(variety: Variety) -> Method | None:
    """The one by which the last lot of a variety was stuck."""
    last = Lot.objects.filter(variety=variety, stuck_on__isnull=False).order_by("-stuck_on", "-pk")
    lot = last.select_related("method").first()
    return lot and lot.method
