"""What people log on a lot: one form a verb. Each turns what was typed into unsaved records for
the ledger, which judges them against the book."""

import uuid as uuidlib
from datetime import datetime

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots.forms.fields import number, photo_field
from lots.forms.ledger.losses import LossesMixin
from lots.models import Finish, Leave, Loss, Lot, PotSize, Record, StrikeCheck
from lots.stockplants.keeping import keep


class RecordForm(forms.Form):
    """The part that all share: the record's own number, when it was seen, a photo. `at_pots` says
    that whoever logs stands at the pots of a lot whose cells are elsewhere."""

    model: type[Record]
    verb: str  # in its address
    heading = ""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    observed_at = forms.DateTimeField(
        label=gettext_lazy("Seen at"),
        required=False,
        widget=forms.DateTimeInput(
            format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local", "autocomplete": "off"}
        ),
        help_text=gettext_lazy("Empty means now."),
    )
    photo = photo_field(required=False)

    def __init__(self, *args, lot: Lot, at_pots: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.lot = lot
        self.at_pots = at_pots
        self.fields["uuid"].initial = uuidlib.uuid4

    def entries(self, by) -> list[Record]:
        """The unsaved records that the form stands for."""
        shared = {"observed_at": self.moment(), "by": by}
        main = self.entry(uuid=self.cleaned_data["uuid"], **shared)
        return [*([main] if main else []), *self.riders(**shared)]

    def moment(self) -> datetime:
        """When it was seen: one moment for all that the form stands for."""
        if not self.cleaned_data.get("observed_at"):
            self.cleaned_data["observed_at"] = timezone.now()
        return self.cleaned_data["observed_at"]

    def entry(self, **shared) -> Record | None:
        raise NotImplementedError

    def riders(self, **shared) -> list[Record]:
        return []

    def also(self, by) -> list[tuple[Lot, list[Record]]]:
        """Records of other lots that the form stands for as well."""
        return []

    def follow(self, entry: Record, by) -> str:
        """What else a record that is new brings about, in the same save; says so in a sentence."""
        return ""

    def riders_uuid(self, name: str) -> uuidlib.UUID:
        # Of the form's own number, so that a form sent twice makes the same records twice.
        return uuidlib.uuid5(self.cleaned_data["uuid"], name)

    @property
    def body(self) -> str:
        """The template with the form's own fields."""
        return f"ledger/record/{self.verb}.html"

    def said(self) -> str:
        """What was saved, in a few words."""
        raise NotImplementedError


class CheckForm(LossesMixin, RecordForm):
    model = StrikeCheck
    verb = "check"
    heading = gettext_lazy("Strike check")

    looked_at = number(gettext_lazy("Looked at"), big=True)
    rooted = number(gettext_lazy("Held at the tug"), least=0, big=True)
    showing = number(gettext_lazy("Showing new growth"), least=0, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        living = self.living
        self.fields["looked_at"].widget.attrs["autofocus"] = True
        self.fields["looked_at"].help_text = ngettext(
            "%(n)s is alive in the book.", "%(n)s are alive in the book.", living
        ) % {"n": living}

    @property
    def living(self) -> int:
        """How many are alive where they are looked at."""
        return (not self.at_pots and self.lot.cells) or self.lot.pots_here

    def clean(self):
        looked_at = self.cleaned_data.get("looked_at")
        says = {
            "rooted": _("%(seen)s held, and only %(looked_at)s were looked at."),
            "showing": _("%(seen)s show growth, and only %(looked_at)s were looked at."),
        }
        for name, sentence in says.items():
            seen = self.cleaned_data.get(name)
            if looked_at is not None and seen is not None and seen > looked_at:
                self.add_error(name, sentence % {"seen": seen, "looked_at": looked_at})
        return self.cleaned_data

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return StrikeCheck(
            looked_at=data["looked_at"],
            rooted=data["rooted"],
            showing=data["showing"],
            whole_lot=data["looked_at"] == self.living,
            note=data["note"],
            **shared,
        )

    def said(self) -> str:
        said = _("%(rooted)s of %(looked_at)s rooted") % self.cleaned_data
        return f"{said}, {self.said_lost()}" if self.lost() else said


class LossForm(LossesMixin, RecordForm):
    model = Loss
    verb = "loss"
    heading = gettext_lazy("Loss")

    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if self.lot.cells and self.lot.pots_growing:
            self.fields["stage"] = forms.ChoiceField(
                label=_("Lost from"),
                choices=[
                    (Loss.Where.CELL, _("cells (%(n)s alive)") % {"n": self.lot.cells}),
                    (Loss.Where.POT, _("pots (%(n)s growing)") % {"n": self.lot.pots_growing}),
                ],
                initial=Loss.Where.POT if self.at_pots else Loss.Where.CELL,
                widget=forms.RadioSelect,
            )

    def where_lost(self) -> str:
        return self.cleaned_data.get("stage") or super().where_lost()

    def clean(self):
        if not self.errors and not self.lost():
            raise forms.ValidationError(
                _("Type how many were lost beside the reason: 1 or more in one of the boxes.")
            )
        return self.cleaned_data

    def entry(self, **shared) -> None:
        return None

    def said(self) -> str:
        return self.said_lost()


class FinishForm(RecordForm):
    model = Finish
    verb = "finish"
    heading = gettext_lazy("Finish: fit to sell")

    pots = number(gettext_lazy("Pots finished now"), big=True)
    pot_size = forms.ModelChoiceField(
        PotSize.objects.all(), label=gettext_lazy("Pot size"), required=False
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pots"].help_text = _("%(n)s growing in pots.") % {"n": self.lot.pots_growing}

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return Finish(pots=data["pots"], pot_size=data["pot_size"], **shared)

    def said(self) -> str:
        pots = self.cleaned_data["pots"]
        return ngettext("%(n)s pot finished", "%(n)s pots finished", pots) % {"n": pots}


class LeaveForm(RecordForm):
    model = Leave
    verb = "leave"
    heading = gettext_lazy("Pots go out")

    pots = number(gettext_lazy("Pots"), big=True)
    stage = forms.ChoiceField(label=gettext_lazy("From"), widget=forms.RadioSelect)
    way = forms.ChoiceField(
        label=gettext_lazy("How"),
        choices=Leave.Way,
        initial=Leave.Way.SOLD,
        widget=forms.RadioSelect,
    )
    to = forms.CharField(label=gettext_lazy("To"), max_length=100, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stage"].choices = [
            (Leave.Where.FINISHED, _("finished pots (%(n)s here)") % {"n": self.lot.pots_finished}),
            (Leave.Where.GROWING, _("growing pots (%(n)s here)") % {"n": self.lot.pots_growing}),
        ]
        self.fields["stage"].initial = (
            Leave.Where.FINISHED if self.lot.pots_finished else Leave.Where.GROWING
        )
        self.fields["way"].help_text = _(
            "Kept for stock, by a manager: they become a stock plant under the next free code."
        )

    def follow(self, entry: Record, by) -> str:
        if entry.way != Leave.Way.STOCK or not by.is_manager:
            return ""
        return _("They are stock plant %(plant)s now.") % {"plant": keep(entry)}

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return Leave(
            pots=data["pots"], stage=data["stage"], way=data["way"], to=data["to"], **shared
        )

    def said(self) -> str:
        pots = self.cleaned_data["pots"]
        return ngettext("%(n)s pot gone out", "%(n)s pots gone out", pots) % {"n": pots}


class VoidForm(forms.Form):
    why = forms.CharField(
        label=gettext_lazy("Why is it void?"),
        max_length=200,
        help_text=gettext_lazy("For instance: wrong lot, counted twice, mistyped."),
    )
    alone = forms.BooleanField(
        label=gettext_lazy("Only this one record; the others stay"), required=False
    )

    def __init__(self, *args, together: int, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if together < 2:
            del self.fields["alone"]
