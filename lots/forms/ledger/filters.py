"""The filter of the list of lots."""

from datetime import timedelta

from django import forms
from django.contrib.auth import get_user_model
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots import codes
from lots.catalogue.lists import named
from lots.forms.fields import Sorts, sort_field, sorted_by
from lots.models import CropGroup, Lot, Method, Place, Stage, Variety
from lots.models.lot import STANDING, at, at_any, struck_in_cells
from lots.models.place import by_bench
from lots.worklists import to_do

STAGES = [
    ("standing", _("standing")),
    ("", _("all")),
    *Stage.choices,
    ("to-pot-up", _("to pot up")),
    ("late", _("late")),
    ("losing", _("losing more than usual")),
]
AGES = [
    ("", _("any age")),
    ("0-30", _("up to 1 month")),
    ("31-90", _("1 to 3 months")),
    ("91-180", _("3 to 6 months")),
    ("181-", _("over 6 months")),
]


SORTS: Sorts = {
    "newest": (_("newest first"), ["-stuck_on", "-pk"]),
    "oldest": (_("oldest first"), ["stuck_on", "pk"]),
    "name": (
        _("by name"),
        ["variety__genus", "variety__species", "variety__cultivar", "-stuck_on", "-pk"],
    ),
    "place": (_("in walking order"), ["place__walk_order", "place__name", "code"]),
    "cells": (_("most in cells first"), ["-cells", "-pk"]),
    "finished": (_("most finished first"), ["-pots_finished", "-pk"]),
}


class LotFilter(forms.Form):
    is_filter = True  # every field may stay empty, so none says so

    q = forms.CharField(
        label=_("Variety or code"), required=False, widget=forms.TextInput({"type": "search"})
    )
    stage = forms.ChoiceField(label=_("Stage"), choices=STAGES, required=False)
    group = forms.ModelChoiceField(
        CropGroup.objects.all(), label=_("Crop group"), required=False, empty_label=_("all")
    )
    place = forms.ModelChoiceField(
        Place.objects.all(), label=_("Place"), required=False, empty_label=_("all")
    )
    stuck_by = forms.ModelChoiceField(
        get_user_model().objects.all(),
        label=_("Stuck by"),
        required=False,
        empty_label=_("anybody"),
    )
    method = forms.ModelChoiceField(
        Method.objects.all(), label=_("Method"), required=False, empty_label=_("all")
    )
    bench = forms.ChoiceField(label=_("Bench"), required=False)
    flat = forms.CharField(label=_("Flat"), required=False, max_length=20)
    sort = sort_field(SORTS)
    age = forms.ChoiceField(label=_("Age"), choices=AGES, required=False)
    variety = forms.ModelChoiceField(
        Variety.objects.all(), required=False, widget=forms.HiddenInput
    )

    def __init__(self, data) -> None:
        data = data.copy()
        data.setdefault("stage", "standing")
        super().__init__(data)
        self.benches = by_bench()
        self.fields["bench"].choices = [("", _("all")), *((name, name) for name in self.benches)]

    @property
    def more_asked(self) -> bool:
        """Whether one of the filters that are folded away is set."""
        return any(self.data.get(name) for name in self.fields if name not in ("q", "stage")) or (
            self.data.get("stage") != "standing"
        )

    def lots(self) -> QuerySet[Lot]:
        """The lots that the filter lets through, sorted; a wrong filter lets all through."""
        self.is_valid()
        data = self.cleaned_data
        # Joined, the database would sort wide rows of all lots for the few of a page.
        lots = Lot.objects.prefetch_related(
            "variety", "method", "place", "pots_place", "flat", "stuck_by"
        )
        match data.get("stage"):
            case "standing":
                lots = lots.filter(stage__in=STANDING)
            case "late":
                lots = lots.filter(to_do.is_late())
            case "to-pot-up":
                lots = lots.filter(struck_in_cells())
            case "losing":
                lots = lots.filter(heavy_losses=True)
            case stage if stage:
                lots = lots.filter(stage=stage)
        if data.get("place"):
            lots = lots.filter(at(data["place"]))
        if data.get("bench"):
            lots = lots.filter(at_any(self.benches[data["bench"]]))
        if data.get("flat"):
            lots = lots.filter(flat__code__iexact=data["flat"])
        for field in ("stuck_by", "variety", "method"):
            if data.get(field):
                lots = lots.filter(**{field: data[field]})
        if data.get("group"):
            lots = lots.filter(variety__group=data["group"])
        if data.get("age"):
            low, _dash, high = data["age"].partition("-")
            today = timezone.localdate()
            lots = lots.filter(stuck_on__lte=today - timedelta(days=int(low)))
            if high:
                lots = lots.filter(stuck_on__gte=today - timedelta(days=int(high)))
        if data.get("q"):
            lots = lots.filter(self._search(data["q"]))
        return sorted_by(lots, SORTS, data.get("sort"))

    def _search(self, words: str) -> Q:
        code = words.upper().translate(codes.FROM_ANY_HAND)
        return Q(code__startswith=code) | Q(variety__in=Variety.objects.filter(named(words)))
