"""Planning a sticking session: the session itself, and its lines."""

from datetime import timedelta

from django import forms
from django.contrib.auth import get_user_model
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots.catalogue.lists import named
from lots.forms.fields import ManyRows, day_input, number
from lots.models import (
    Cut,
    Flat,
    Lot,
    Method,
    Place,
    PotSize,
    StickingSession,
    StockPlant,
    Variety,
)
from lots.models.days import check_day
from lots.models.lot import MOST_PIECES
from lots.models.stock import Health
from lots.sticking.cutting import shared_cuts

SHOWN = 6


class SessionForm(forms.ModelForm):
    class Meta:
        model = StickingSession
        fields = ["day", "led_by", "disinfectant"]
        widgets = {"day": day_input()}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["led_by"].queryset = get_user_model().objects.filter(is_active=True)
        if not self.instance.pk:
            self.fields["day"].initial = timezone.localdate() + timedelta(days=1)


class RepeatForm(forms.Form):
    day = forms.DateField(
        label=gettext_lazy("Day of the new session"),
        validators=[check_day],
        widget=day_input(),
    )


class PlantChoices(ManyRows):
    def label_from_instance(self, plant: StockPlant) -> str:
        words = [str(plant), plant.get_health_display()]
        if plant.place:
            words.append(str(plant.place))
        if plant.gives:
            gives = ngettext("gives %(n)s piece", "gives %(n)s pieces", plant.gives)
            words.append(gives % {"n": plant.gives})
        return " · ".join(words)


def variety_of(text: str) -> Variety:
    """The variety that a code or some letters of its name stand for. Raises ValidationError."""
    words = text.strip()
    exact = Variety.known_as(words)
    if exact:
        return exact
    found = list(Variety.objects.filter(named(words))[: SHOWN + 1]) if words else []
    if len(found) == 1:
        return found[0]
    if not found:
        raise forms.ValidationError(
            _("No variety has “%(words)s” in its name or code.") % {"words": words}
        )
    raise forms.ValidationError(
        _("“%(words)s” fits several varieties: %(names)s. Type a few letters more, or the code.")
        % {
            "words": words,
            "names": ", ".join(f"{variety} ({variety.code})" for variety in found[:SHOWN])
            + (" …" if len(found) > SHOWN else ""),
        }
    )


class VarietyForm(forms.Form):
    """A variety found by a few letters, and which of its stock plants to cut (or, of the `past`,
    were cut)."""

    past = False

    variety = forms.CharField(
        label=gettext_lazy("Variety"),
        widget=forms.TextInput({"list": "varieties-found", "autocomplete": "off"}),
        help_text=gettext_lazy("A few letters of the name, or the code."),
    )
    plants = PlantChoices(
        StockPlant.objects.none(),
        label=gettext_lazy("Stock plants"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        typed = self["variety"].value()
        self.chosen = None
        if typed:
            try:
                self.chosen = variety_of(typed)
            except forms.ValidationError:
                return
            plants = self.chosen.stock_plants.select_related("place")
            self.fields["plants"].queryset = (
                plants if self.past else plants.exclude(health=Health.GONE)
            )

    def clean_variety(self) -> Variety:
        return variety_of(self.cleaned_data["variety"])


class LineForm(VarietyForm):
    """A line of a session: one lot to be cut and stuck."""

    method = forms.ModelChoiceField(Method.objects.all(), label=gettext_lazy("Method"))
    units = number(gettext_lazy("Units"))
    pieces_per_unit = number(gettext_lazy("Pieces a unit"), max_value=MOST_PIECES, initial=1)
    flat = forms.CharField(label=gettext_lazy("Flat"), max_length=20, required=False)
    place = forms.ModelChoiceField(Place.objects.all(), label=gettext_lazy("Place"), required=False)
    direct_pot_size = forms.ModelChoiceField(
        PotSize.objects.all(),
        label=gettext_lazy("Straight into pots of"),
        required=False,
        empty_label=gettext_lazy("no, into cells"),
    )
    medium = forms.CharField(label=gettext_lazy("Medium"), max_length=80, required=False)
    hormone = forms.CharField(
        label=gettext_lazy("Rooting hormone"),
        max_length=80,
        required=False,
        help_text=gettext_lazy("As on its label; the label is the law."),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    @classmethod
    def of(cls, lot: Lot) -> dict[str, object]:
        """The initial values of a form that shows, or copies, a lot."""
        return {
            "variety": lot.variety.code,
            "plants": [plant.pk for plant in lot.stock_plants.all() if plant.may_be_cut],
            "method": lot.method_id,
            "units": lot.planned_units,
            "pieces_per_unit": lot.pieces_per_unit,
            "flat": lot.flat,
            "place": lot.first_place_id,
            "direct_pot_size": lot.direct_pot_size_id,
            "medium": lot.medium,
            "hormone": lot.hormone,
            "note": lot.note,
        }

    def put(self, lot: Lot) -> tuple[Lot, list[Cut]]:
        """The lot with what was typed, not saved, and its cuts."""
        data = self.cleaned_data
        lot.variety, lot.method = data["variety"], data["method"]
        lot.planned_units, lot.pieces_per_unit = data["units"], data["pieces_per_unit"]
        lot.flat = Flat.get_or_make(data["flat"]) if data["flat"] else None
        lot.first_place, lot.direct_pot_size = data["place"], data["direct_pot_size"]
        lot.medium, lot.hormone, lot.note = data["medium"], data["hormone"], data["note"]
        return lot, shared_cuts(data["plants"], lot.planned_units * lot.pieces_per_unit)
