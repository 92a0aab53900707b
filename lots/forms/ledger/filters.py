"""The filter of the list of lots."""

from datetime import timedelta

from django import forms
from django.contrib.auth import get_user_model
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots import codes
from lots.catalogue.lists import named
from lots.models import CropGroup, Lot, Place, Stage, Variety
from lots.models.lot import STANDING, at
from lots.worklists import to_do

STAGES = [
    ("standing", _("standing")),
    ("", _("all")),
    *Stage.choices,
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
    age = forms.ChoiceField(label=_("Age"), choices=AGES, required=False)
    variety = forms.ModelChoiceField(
        Variety.objects.all(), required=False, widget=forms.HiddenInput
    )

    def __init__(self, data) -> None:
        data = data.copy()
        data.setdefault("stage", "standing")
        super().__init__(data)

    def lots(self) -> QuerySet[Lot]:
        """The lots that the filter lets through, newest first; a wrong filter lets all through."""
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
            case "losing":
                lots = lots.filter(heavy_losses=True)
            case stage if stage:
                lots = lots.filter(stage=stage)
        if data.get("place"):
            lots = lots.filter(at(data["place"]))
        for field in ("stuck_by", "variety"):
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
        return lots.order_by("-stuck_on", "-pk")

    def _search(self, words: str) -> Q:
        code = words.upper().translate(codes.FROM_ANY_HAND)
        return Q(code__startswith=code) | Q(variety__in=Variety.objects.filter(named(words)))
