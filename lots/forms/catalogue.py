"""The forms of the catalogues, and the filter of the list of varieties."""

from django import forms
from django.core.validators import MaxValueValidator
from django.db.backends.base.operations import BaseDatabaseOperations
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from lots import outlook
from lots.catalogue.lists import named
from lots.forecast import handbook
from lots.forms.fields import Sorts, day_input, photo_field, sort_field, sorted_by
from lots.models import CropGroup, Method, NotedChange, Place, PotSize, Variety
from lots.models.place import house_of


class CatalogueForm(forms.ModelForm):
    """A row of a catalogue."""

    forecast_by: frozenset[str] = frozenset()  # fields that forecasts hang on

    def __init__(self, *args, **kwargs) -> None:
        """A number may be no larger than PostgreSQL's column, where the book may move one day;
        SQLite's would hold it."""
        super().__init__(*args, **kwargs)
        for column in self._meta.model._meta.concrete_fields:
            span = BaseDatabaseOperations.integer_field_ranges.get(column.get_internal_type())
            if span and column.name in self.fields:
                self.fields[column.name].validators.append(MaxValueValidator(span[1]))

    def save(self, commit: bool = True):
        saved = super().save(commit)
        if self.forecast_by.intersection(self.changed_data):
            outlook.mark_changed()
        return saved


class LeaningForm(CatalogueForm):
    """A row that leans on the handbook: on which of its names is proposed by the row's own name
    when it is made, and chosen whenever somebody knows better."""

    BY_NAME, NONE = "by name", "none"
    leans_by = ""  # the field

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields[self.leans_by]
        known = self._meta.model._meta.get_field(self.leans_by).choices
        field.choices = [*known, (self.NONE, _("like nothing in the handbook"))]
        if self.instance.pk:
            self.initial[self.leans_by] = getattr(self.instance, self.leans_by) or self.NONE
        else:
            field.choices = [(self.BY_NAME, _("as its name says")), *field.choices]
            self.initial[self.leans_by] = self.BY_NAME
        if self.is_bound:  # said nothing of: as the form proposes
            self.data = self.data.copy()
            self.data.setdefault(self.add_prefix(self.leans_by), self.initial[self.leans_by])
        field.required = True
        field.help_text = _(
            "What is expected of a lot before any of our own lots have shown it. Like nothing in "
            "the handbook: the wide ranges for the part of the plant that is cut."
        )

    def propose(self, name: str) -> str:
        raise NotImplementedError

    def lean(self) -> str:
        """The chosen name of the handbook. Raises ValidationError where the row's own name is to
        tell and the handbook doesn't know it."""
        typed = self.cleaned_data[self.leans_by]
        if typed != self.BY_NAME:
            return "" if typed == self.NONE else typed
        name = self.cleaned_data.get("name", "")
        found = self.propose(name)
        if name and not found:
            raise forms.ValidationError(
                _("The handbook knows nothing by the name “%(name)s”: choose what it is like.")
                % {"name": name}
            )
        return found


class CropGroupForm(LeaningForm):
    leans_by = "roots_like"
    forecast_by = frozenset({"roots_like"})

    class Meta:
        model = CropGroup
        fields = ["name", "genus", "roots_like"]

    def propose(self, name: str) -> str:
        return handbook.propose_kind(name)

    def clean_roots_like(self) -> str:
        return self.lean()


class MethodForm(LeaningForm):
    leans_by = "cut_like"
    forecast_by = frozenset({"cut_like", "source_part"})

    class Meta:
        model = Method
        fields = [
            *("name", "source_part", "cut_like", "pieces_per_source", "pieces_per_hour"),
            *("needs_shoot", "how_to"),
        ]

    def propose(self, name: str) -> str:
        return handbook.propose_method(name)

    def clean_cut_like(self) -> str:
        return self.lean()


class PotSizeForm(CatalogueForm):
    forecast_by = frozenset({"diameter_cm"})

    class Meta:
        model = PotSize
        fields = ["name", "diameter_cm", "pieces_per_pot", "least_struck"]

    def clean_least_struck(self) -> int:
        least, holds = self.cleaned_data["least_struck"], self.cleaned_data.get("pieces_per_pot")
        if holds and least > holds:
            raise forms.ValidationError(
                _("The pot holds %(holds)s, so no more than that can be asked for.")
                % {"holds": holds}
            )
        return least


class PlaceForm(CatalogueForm):
    class Meta:
        model = Place
        fields = ["name", "walk_order"]


class NotedChangeForm(CatalogueForm):
    forecast_by = frozenset({"day", "house", "group"})

    house = forms.ChoiceField(
        label=_("House"),
        required=False,
        help_text=_("The first part of the names of its places: B for B-2-07."),
    )

    class Meta:
        model = NotedChange
        fields = ["what", "day", "house", "group"]
        widgets = {"day": day_input()}
        help_texts = {
            "what": _("In a few words: “new boiler”, “bark mix in place of peat”."),
            "day": _("The first day on which lots were stuck under the new conditions."),
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        named = {house_of(name) for name in Place.objects.values_list("name", flat=True)}
        houses = sorted(named | {self.instance.house} - {""}, key=str.casefold)
        self.fields["house"].choices = [("", _("all")), *((name, name) for name in houses)]
        self.fields["group"].empty_label = _("all")


class VarietyForm(CatalogueForm):
    forecast_by = frozenset({"group"})

    class Meta:
        model = Variety
        fields = [
            "code",
            "group",
            "genus",
            "species",
            "hybrid",
            "cultivar",
            "trade_name",
            "protected",
            "licence",
            "note",
        ]
        widgets = {"note": forms.Textarea({"rows": 3})}

    def clean_cultivar(self) -> str:
        return self.cleaned_data["cultivar"].strip("'‘’\"“” ")


class VarietyPhotoForm(forms.Form):
    photo = photo_field(
        help_text=_(
            "How it looks when it is grown. It is made small, and where it was taken is left out."
        )
    )


NAME = Variety._meta.ordering
VARIETY_SORTS: Sorts = {
    "name": (_("by name"), NAME),
    "code": (_("by code"), ["code"]),
    "group": (_("by crop group"), ["group__name", *NAME]),
    "standing": (_("most standing lots first"), ["-standing", *NAME]),
    "plants": (_("fewest stock plants first"), ["plants", *NAME]),
}


class VarietyFilter(forms.Form):
    is_filter = True  # every field may stay empty, so none says so

    q = forms.CharField(
        label=_("Name or code"), required=False, widget=forms.TextInput({"type": "search"})
    )
    group = forms.ModelChoiceField(
        CropGroup.objects.all(), label=_("Crop group"), required=False, empty_label=_("all")
    )
    sort = sort_field(VARIETY_SORTS)

    def apply(self, varieties: QuerySet[Variety]) -> QuerySet[Variety]:
        """What the filter lets through; a wrong filter lets all through."""
        self.is_valid()
        if self.cleaned_data.get("group"):
            varieties = varieties.filter(group=self.cleaned_data["group"])
        varieties = varieties.filter(named(self.cleaned_data.get("q", "")))
        return sorted_by(varieties, VARIETY_SORTS, self.cleaned_data.get("sort"))
