"""The forms of the first hour: what a new book begins with, places by the bench, and lots that
stand already."""

from django import forms
from django.contrib.auth import get_user_model
from django.utils import timezone
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from lots import codes, ledger
from lots.catalogue import starter
from lots.forms.fields import day_input, number
from lots.forms.sticking.sessions import variety_of
from lots.models import Flat, Lot, Method, Place, PotSize, Variety
from lots.models.days import check_day
from lots.models.lot import MOST_PIECES
from lots.sticking import already_standing


class StarterForm(forms.Form):
    """All of it is ticked at first: what nobody uses does no harm, and can be renamed."""

    groups = forms.MultipleChoiceField(
        label=_("Crop groups"), required=False, widget=forms.CheckboxSelectMultiple
    )
    methods = forms.MultipleChoiceField(
        label=_("Ways of cutting, each with its card"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    pots = forms.MultipleChoiceField(
        label=_("Pot sizes"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in list(self.fields):
            there = getattr(starter, name)()
            self.fields[name].choices = [(one, one) for one in there]
            self.fields[name].initial = there
            if not there:
                del self.fields[name]

    def begin(self) -> int:
        """Put what is ticked into the book."""
        ticked = (self.cleaned_data.get(name, []) for name in ("groups", "methods", "pots"))
        return starter.begin(*ticked)


class PlacesForm(forms.Form):
    """Benches from one number to another, with so many places each."""

    house = forms.CharField(
        label=_("House"),
        max_length=20,
        required=False,
        help_text=_("Stands before each name, where there are several: North-1-01."),
    )
    first = number(_("First bench"), max_value=999, initial=1)
    last = number(_("Last bench"), max_value=999, initial=3)
    places = number(_("Places a bench"), max_value=999, initial=14)

    def clean(self) -> None:
        data = self.cleaned_data
        if self.errors:
            return
        if data["last"] < data["first"]:
            self.add_error("last", _t("The last bench comes after the first, or is the same."))
            return
        benches = range(data["first"], data["last"] + 1)
        if len(benches) * data["places"] > starter.MOST_PLACES:
            says = _t("These are %(n)s places; make %(most)s at most at a time.")
            words = {"n": len(benches) * data["places"], "most": starter.MOST_PLACES}
            self.add_error("places", says % words)
            return
        self.made = starter.range_of_places(data["house"].strip(), benches, data["places"])
        if not self.made:
            self.add_error(None, _t("All these places are in the book already."))


class StandingLotForm(forms.Form):
    """A lot that stood before the book did, in one line."""

    # Of the lot, given when the page is made: the same page sent twice is one lot.
    code = forms.CharField(widget=forms.HiddenInput, max_length=20, required=False)
    variety = forms.CharField(
        label=_("Variety"),
        widget=forms.TextInput({"list": "varieties-found", "autocomplete": "off"}),
    )
    method = forms.ModelChoiceField(Method.objects.all(), label=_("Method"))
    units = number(_("Stuck"))
    pieces_per_unit = number(_("Pieces a unit"), max_value=MOST_PIECES, initial=1)
    on = forms.DateField(label=_("On"), validators=[check_day], widget=day_input())
    cells = number(_("Now in cells"), least=0, required=False)
    growing = number(_("Now growing in pots"), least=0, required=False)
    finished = number(_("Finished pots here"), least=0, required=False)
    gone = number(_("Pots gone out"), least=0, required=False)
    pot_size = forms.ModelChoiceField(PotSize.objects.all(), label=_("Pot size"), required=False)
    place = forms.ModelChoiceField(Place.objects.all(), label=_("Place"), required=False)
    flat = forms.CharField(label=_("Flat"), max_length=20, required=False)
    stuck_by = forms.ModelChoiceField(
        get_user_model().objects.filter(is_active=True), label=_("Stuck by")
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].initial = ledger.new_code

    def clean_code(self) -> str:
        code = codes.read_or_none(self.cleaned_data["code"]) or ""
        if code and Lot.objects.filter(code=code).exists():
            raise forms.ValidationError(_t("This line is in the book already."))
        return code

    def clean_variety(self) -> Variety:
        return variety_of(self.cleaned_data["variety"])

    def clean_on(self):
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_t("A lot can't be stuck on a day that has not come yet."))
        return day

    def clean(self) -> None:
        data = self.cleaned_data
        if not self.errors and not any(data[n] for n in ("cells", "growing", "finished", "gone")):
            self.add_error("cells", _t("Nothing is left of it: say what there is now."))

    def enter(self, by) -> Lot:
        """Let the ledger write it. Raises ledger.Refused."""
        data = self.cleaned_data
        lot = Lot(
            code=data["code"],
            variety=data["variety"],
            method=data["method"],
            pieces_per_unit=data["pieces_per_unit"],
            first_place=data["place"],
            flat=Flat.get_or_make(data["flat"]) if data["flat"] else None,
            stuck_units=data["units"],
            stuck_on=data["on"],
            stuck_by=data["stuck_by"],
        )
        names = ("cells", "growing", "finished", "gone")
        now = already_standing.Now(*(data[name] or 0 for name in names), size=data["pot_size"])
        return already_standing.enter(lot, now, by=by)

    def again(self) -> dict[str, object]:
        """What stays the same from one lot to the next."""
        same = ("method", "pieces_per_unit", "pot_size", "place", "stuck_by")
        found = {name: self.cleaned_data[name] for name in same}
        return {name: getattr(value, "pk", value) for name, value in found.items()}
