"""The form of a stock plant, and the filter of their list."""

from django import forms
from django.db.models import F, Q, QuerySet
from django.utils.translation import gettext_lazy as _

from lots import codes
from lots.catalogue.lists import named
from lots.forms.catalogue import CatalogueForm
from lots.forms.fields import Sorts, day_input, number, sort_field, sorted_by
from lots.ledger import new_code
from lots.models import Lot, Place, StockPlant, Variety
from lots.models.place import by_bench
from lots.models.stock import Health, Origin


class StockPlantForm(CatalogueForm):
    # The code that a new plant gets when none is typed. It travels with the page, so that the
    # same page sent twice asks for the same code and is stored once.
    spare_code = forms.CharField(widget=forms.HiddenInput, required=False, max_length=6)
    from_lot = forms.CharField(
        label=_("From lot"),
        required=False,
        max_length=40,
        help_text=_("The code of the lot, if it is a pot of one of our own."),
    )

    plants = number(_("Plants under this code"), max_value=9999, required=False)

    class Meta:
        model = StockPlant
        fields = [
            "code",
            "variety",
            "health",
            "place",
            "origin",
            "from_lot",
            "supplier",
            "since",
            "plants",
            "pieces_per_cut",
            "rest_weeks",
        ]
        widgets = {"since": day_input()}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            del self.fields["spare_code"]
        else:
            self.fields["code"].required = False
            self.fields["code"].help_text = _("Left empty, it gets a code like those of lots.")
            self.fields["spare_code"].initial = new_code
        if self.instance.from_lot:
            self.initial["from_lot"] = codes.show(self.instance.from_lot.code)

    def clean_plants(self) -> int:
        """One, where nothing is said."""
        return self.cleaned_data["plants"] or 1

    def clean_code(self) -> str:
        typed = self.cleaned_data["code"] or self.data.get(self.add_prefix("spare_code"), "")
        return typed or new_code()

    def clean_from_lot(self) -> Lot | None:
        typed = self.cleaned_data["from_lot"]
        if not typed:
            return None
        code = codes.read_or_none(typed)
        if code is None:
            raise forms.ValidationError(
                _(
                    "“%(typed)s” is mistyped: no lot can have this code. It has 6 characters, "
                    "like 7K3-QFY."
                )
                % {"typed": typed}
            )
        lot = Lot.objects.filter(code=code).first()
        if lot is None or not lot.is_stuck:
            raise forms.ValidationError(
                _("There is no stuck lot %(code)s in this book.") % {"code": codes.show(code)}
            )
        return lot

    def clean(self) -> None:
        super().clean()
        if self.cleaned_data.get("from_lot") and self.cleaned_data.get("origin") != Origin.OWN:
            self.add_error(
                "origin",
                _("It names a lot that it came from, so it is from one of our own lots."),
            )


SORTS: Sorts = {
    "code": (_("by code"), ["code"]),
    "name": (
        _("by name"),
        ["variety__genus", "variety__species", "variety__cultivar", "code"],
    ),
    "place": (_("in walking order"), ["place__walk_order", "place__name", "code"]),
    "uncut": (_("longest uncut first"), [F("last_cut").asc(nulls_first=True), "code"]),
    "oldest": (_("oldest first"), ["since", "code"]),
}


class StockFilter(forms.Form):
    is_filter = True  # every field may stay empty, so none says so

    KEPT = "kept"

    q = forms.CharField(
        label=_("Variety or code"), required=False, widget=forms.TextInput({"type": "search"})
    )
    health = forms.ChoiceField(
        label=_("Health"),
        choices=[(KEPT, _("all but gone")), *Health.choices, ("", _("all"))],
        required=False,
    )
    place = forms.ModelChoiceField(
        Place.objects.all(), label=_("Place"), required=False, empty_label=_("all")
    )

    bench = forms.ChoiceField(label=_("Bench"), required=False)
    sort = sort_field(SORTS)

    def __init__(self, data) -> None:
        data = data.copy()
        data.setdefault("health", self.KEPT)
        super().__init__(data)
        self.benches = by_bench()
        self.fields["bench"].choices = [("", _("all")), *((name, name) for name in self.benches)]

    @property
    def more_asked(self) -> bool:
        """Whether one of the filters that are folded away is set."""
        others = any(self.data.get(name) for name in ("place", "bench", "sort"))
        return others or self.data.get("health") != self.KEPT

    def apply(self, plants: QuerySet[StockPlant]) -> QuerySet[StockPlant]:
        """What the filter lets through; a wrong filter lets all through."""
        self.is_valid()
        data = self.cleaned_data
        if data.get("health") == self.KEPT:
            plants = plants.exclude(health=Health.GONE)
        elif data.get("health"):
            plants = plants.filter(health=data["health"])
        if data.get("place"):
            plants = plants.filter(place=data["place"])
        if data.get("bench"):
            plants = plants.filter(place__in=self.benches[data["bench"]])
        words = data.get("q", "")
        plants = plants.filter(
            Q(variety__in=Variety.objects.filter(named(words))) | Q(code__icontains=words)
        )
        return sorted_by(plants, SORTS, data.get("sort"))
