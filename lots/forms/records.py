"""What people log on a lot: one form a verb. Each turns what was typed into unsaved records for
the ledger, which judges them against the book."""

import uuid as uuidlib

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots.forms.fields import number
from lots.forms.losses import LossesMixin
from lots.models import Finish, Leave, Loss, Lot, Move, Place, PotSize, PotUp, Record, StrikeCheck


class RecordForm(forms.Form):
    """The part that all share: the record's own number, when it was seen, a photo."""

    verb: str = ""
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
    photo = forms.FileField(
        label=gettext_lazy("Photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )

    def __init__(self, *args, lot: Lot, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.lot = lot
        self.fields["uuid"].initial = uuidlib.uuid4

    def entries(self, by) -> list[Record]:
        """The unsaved records that the form stands for."""
        shared = {"observed_at": self.moment(), "by": by}
        main = self.entry(uuid=self.cleaned_data["uuid"], **shared)
        return [*([main] if main else []), *self.riders(**shared)]

    def moment(self):
        return self.cleaned_data.get("observed_at") or timezone.now()

    def entry(self, **shared) -> Record | None:
        raise NotImplementedError

    def riders(self, **shared) -> list[Record]:
        return []

    def also(self, by) -> list[tuple[Lot, list[Record]]]:
        """Records of other lots that the form stands for as well."""
        return []

    def riders_uuid(self, name: str) -> uuidlib.UUID:
        # Of the form's own number, so that a form sent twice makes the same records twice.
        return uuidlib.uuid5(self.cleaned_data["uuid"], name)

    @property
    def body(self) -> str:
        """The template with the form's own fields."""
        return f"lots/record/{self.verb}.html"

    def said(self) -> str:
        """What was saved, in a few words."""
        raise NotImplementedError


class CheckForm(LossesMixin, RecordForm):
    verb = "check"
    heading = gettext_lazy("Strike check")

    looked_at = number(gettext_lazy("Looked at"), big=True)
    rooted = number(gettext_lazy("Held at the tug"), least=0, big=True)
    showing = number(gettext_lazy("Showing new growth"), least=0, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        living = self.lot.cells or self.lot.pots_here
        self.fields["looked_at"].widget.attrs["autofocus"] = True
        self.fields["looked_at"].help_text = ngettext(
            "%(n)s is alive in the book.", "%(n)s are alive in the book.", living
        ) % {"n": living}

    def clean(self):
        looked_at = self.cleaned_data.get("looked_at")
        for name, what in (("rooted", _("held")), ("showing", _("show growth"))):
            seen = self.cleaned_data.get(name)
            if looked_at is not None and seen is not None and seen > looked_at:
                self.add_error(
                    name,
                    _("%(seen)s can't %(what)s of %(looked_at)s looked at.")
                    % {"seen": seen, "what": what, "looked_at": looked_at},
                )
        return self.cleaned_data

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return StrikeCheck(
            looked_at=data["looked_at"],
            rooted=data["rooted"],
            showing=data["showing"],
            whole_lot=data["looked_at"] == (self.lot.cells or self.lot.pots_here),
            note=data["note"],
            **shared,
        )

    def said(self) -> str:
        said = _("%(rooted)s of %(looked_at)s rooted") % self.cleaned_data
        return f"{said}, {self.said_lost()}" if self.lost() else said


class LossForm(LossesMixin, RecordForm):
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
                initial=Loss.Where.CELL,
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


class PotUpForm(RecordForm):
    verb = "pot-up"
    heading = gettext_lazy("Pot up")

    units = number(gettext_lazy("Units from cells"), big=True)
    pots = number(gettext_lazy("Pots made"), big=True, required=False)
    pot_size = forms.ModelChoiceField(PotSize.objects.all(), label=gettext_lazy("Pot size"))

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["units"].help_text = _("%(n)s alive in cells.") % {"n": self.lot.cells}
        self.fields["pots"].help_text = _("Empty means one pot a unit.")

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return PotUp(
            units=data["units"],
            pots=data["pots"] or data["units"],
            pot_size=data["pot_size"],
            **shared,
        )

    def said(self) -> str:
        pots = self.cleaned_data["pots"] or self.cleaned_data["units"]
        return ngettext("%(n)s pot potted up", "%(n)s pots potted up", pots) % {"n": pots}


class FinishForm(RecordForm):
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


class MoveForm(RecordForm):
    verb = "move"
    heading = gettext_lazy("Move")

    place = forms.ModelChoiceField(Place.objects.all(), label=gettext_lazy("New place"))
    whole_flat = forms.BooleanField(
        label=gettext_lazy("Move the whole flat"), required=False, initial=True
    )

    def __init__(self, *args, flatmates: list[Lot], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.flatmates = flatmates
        if flatmates:
            self.fields["whole_flat"].help_text = ngettext(
                "%(n)s other lot stands in flat %(flat)s.",
                "%(n)s other lots stand in flat %(flat)s.",
                len(flatmates),
            ) % {"n": len(flatmates), "flat": self.lot.flat}
        else:
            del self.fields["whole_flat"]

    def entry(self, **shared) -> Record:
        return Move(place=self.cleaned_data["place"], **shared)

    def also(self, by) -> list[tuple[Lot, list[Record]]]:
        if not self.cleaned_data.get("whole_flat"):
            return []
        return [
            (
                mate,
                [
                    Move(
                        uuid=self.riders_uuid(mate.code),
                        place=self.cleaned_data["place"],
                        observed_at=self.moment(),
                        by=by,
                    )
                ],
            )
            for mate in self.flatmates
        ]

    def said(self) -> str:
        return _("moved to %(place)s") % self.cleaned_data


class LeaveForm(RecordForm):
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
