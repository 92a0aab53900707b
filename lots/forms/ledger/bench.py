"""Many lots on one page: what they have in common once, at the top, and a row for each lot that is
the verb's own form. A row stands for records of its own and is saved, or refused, by itself."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django import forms
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lots.forms.ledger.kinds import FORMS
from lots.forms.ledger.records import CheckForm, LeaveForm, RecordForm
from lots.models import Flat, Forecast, Leave, Loss, Lot, Place, PotSize, Record
from lots.models.lot import LotPart
from lots.outlook.sizes import likely_size
from lots.worklists import chosen
from lots.worklists.chosen import Chosen, key_of_part

type Quick = list[tuple[str, str, dict[str, int | str]]]
"""One tap each: its name, what the button says, and what is typed by it."""


class ChosenForm(forms.Form):
    """Which lots an address asks for."""

    flat = forms.ModelChoiceField(Flat.objects.all(), required=False)
    place = forms.ModelChoiceField(Place.objects.all(), required=False)
    bench = forms.CharField(required=False, max_length=40, strip=False)
    due = forms.BooleanField(required=False)

    def chosen(self) -> Chosen | None:
        """None where it asks for what is not there; the round, where it asks for nothing."""
        if ticked := self.data.getlist("lot"):
            return chosen.ticked(ticked)
        if not self.is_valid():
            return None
        data = self.cleaned_data
        if data["flat"]:
            return chosen.of_flat(data["flat"])
        if data["place"]:
            return chosen.of_place(data["place"])
        if data["due"] or not self.data:
            return chosen.of_round(data["bench"] if "bench" in self.data else None)
        return chosen.of_bench(data["bench"]) if data["bench"] else None


@dataclass(frozen=True)
class Verb:
    """A verb as a page of many lots has it. `common` are the fields that stand once for all rows,
    `typed` those by which a row says that it is meant."""

    verb: str
    label: str
    offers: Callable[[Lot, LotPart], bool]
    quick: Callable[[Lot, LotPart, int], Quick]
    common: tuple[str, ...] = ()
    typed: tuple[str, ...] = ()

    @property
    def form(self) -> type[RecordForm]:
        return RowCheckForm if self.verb == "check" else FORMS[self.verb]


class RowCheckForm(CheckForm):
    """A strike check or, with losses alone, no check: nobody tugged."""

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if not any(self.data.get(self.add_prefix(name)) for name in ("rooted", "showing")):
            self.fields["rooted"].required = self.fields["looked_at"].required = False

    def entry(self, **shared) -> Record | None:
        return None if self.cleaned_data["rooted"] is None else super().entry(**shared)

    def said(self) -> str:
        return self.said_lost() if self.cleaned_data["rooted"] is None else super().said()


def _living(lot: Lot, part: LotPart) -> int:
    """How many are alive of what stands there, as a strike check counts them."""
    return (part.what != "pots" and lot.cells) or (part.what != "cells" and lot.pots_here) or 0


def _check(lot: Lot, part: LotPart, living: int) -> Quick:
    found: Quick = [("all", _("All %(n)s held") % {"n": living}, {"rooted": living})]
    held = min(lot.held, living) if lot.tested_on else 0
    if held < living:
        says = _("No change: %(n)s") if lot.tested_on else _("None yet")
        found.append(("same", says % {"n": held}, {"rooted": held}))
    return [*found, *_all_rotted(lot, part, living)]


def _all_rotted(lot: Lot, part: LotPart, _living: int) -> Quick:
    """Finished pots are culled, and no loss."""
    n = (part.what != "pots" and lot.cells) or lot.pots_growing
    says = _("All %(n)s rotted") % {"n": n}
    return [("rotted", says, {f"lost_{Loss.Reason.ROT}": n})] if n else []


def _all(name: str) -> Callable[[Lot, LotPart, int], Quick]:
    return lambda lot, part, n: [("all", _("All %(n)s") % {"n": n}, {name: n})]


LOSSES = tuple(f"lost_{reason}" for reason in Loss.Reason.values)
VERBS = {
    one.verb: one
    for one in (
        Verb(
            "check",
            gettext_lazy("Strike check"),
            lambda lot, part: _living(lot, part) > 0,
            _check,
            typed=("rooted", *LOSSES),
        ),
        Verb(
            "pot-up",
            gettext_lazy("Pot up"),
            lambda lot, part: lot.cells > 0 and part.what != "pots",
            _all("units"),
            common=("pot_size", "place"),
            typed=("units",),
        ),
        Verb(
            "finish",
            gettext_lazy("Finish"),
            lambda lot, part: lot.pots_growing > 0 and part.what != "cells",
            _all("pots"),
            typed=("pots",),
        ),
        Verb(
            "leave",
            gettext_lazy("Pots go out"),
            lambda lot, part: lot.pots_here > 0 and part.what != "cells",
            _all("pots"),
            common=("way", "to"),
            typed=("pots",),
        ),
        Verb(
            "move",
            gettext_lazy("Move"),
            lambda lot, part: lot.is_standing,
            lambda lot, part, n: [("go", _("Move"), {"go": 1})],
            common=("place",),
            typed=("go",),
        ),
        Verb(
            "loss",
            gettext_lazy("Loss"),
            lambda lot, part: bool(_all_rotted(lot, part, 0)),
            _all_rotted,
            typed=LOSSES,
        ),
    )
}


class CommonForm(forms.Form):
    """What the rows have in common."""

    place = forms.ModelChoiceField(Place.objects.all(), required=False)
    pot_size = forms.ModelChoiceField(
        PotSize.objects.all(),
        label=gettext_lazy("Pot size"),
        required=False,
        empty_label=gettext_lazy("as each lot’s kind goes"),
    )
    way = forms.ChoiceField(
        label=gettext_lazy("How"), choices=Leave.Way, initial=Leave.Way.SOLD, required=False
    )
    to = LeaveForm.base_fields["to"]
    observed_at = RecordForm.base_fields["observed_at"]

    def __init__(self, data: QueryDict | None, verb: Verb) -> None:
        super().__init__(data)
        for name in set(self.fields) - {*verb.common, "observed_at"}:
            del self.fields[name]
        if verb.verb == "move":
            self.fields["place"].required = True
            self.fields["place"].label = _("New place")
        elif "place" in self.fields:
            self.fields["place"].label = _("Where the pots go")
            self.fields["place"].empty_label = _("where each lot stands")


@dataclass
class Row:
    """A lot's row. `saved` says what was saved by it, `entry` leads to its undoing."""

    verb: Verb
    lot: Lot
    part: LotPart
    forecast: Forecast | None
    data: QueryDict | None = None
    files: MultiValueDict | None = None
    ticked: bool = False  # to be moved, unless somebody takes the tick out
    saved: str = ""
    entry: Record | None = None
    nothing: bool = False  # its button was pressed, and nothing stands in it
    form: RecordForm = field(init=False)

    def __post_init__(self) -> None:
        self.key = key_of_part(self.lot, self.part)
        self.form = self._form()

    @property
    def size(self) -> PotSize | None:
        """The pot size that its kind usually goes into."""
        field = self.form.fields.get("pot_size")
        return field.initial if field and self.verb.verb == "pot-up" else None

    @property
    def n(self) -> int:
        """As many as it is about."""
        lot = self.lot
        match self.verb.verb:
            case "pot-up":
                return lot.cells
            case "finish":
                return lot.pots_growing
            case "leave":
                return lot.pots_finished or lot.pots_growing
        return _living(lot, self.part)

    @property
    def quick(self) -> Quick:
        return self.verb.quick(self.lot, self.part, self.n)

    @property
    def goes(self) -> bool:
        """Whether it is ticked to be moved."""
        return self.ticked if self.data is None else self.is_typed

    @property
    def is_typed(self) -> bool:
        """Whether something was typed, ticked or tapped in it."""
        sent = self.data or {}
        return any(sent.get(f"{self.key}-{name}", "").strip() for name in self.verb.typed)

    @property
    def has_photo(self) -> bool:
        return f"{self.key}-photo" in (self.files or {})

    def _form(self) -> RecordForm:
        words = {"lot": self.lot, "at_pots": self.part.what == "pots", "prefix": self.key}
        if self.data is None or not self.is_typed:
            return self._alone(self.verb.form(**words, initial=self._usual()))
        sent = self.data.copy()
        for name in (*self.verb.common, "observed_at"):
            sent[f"{self.key}-{name}"] = self.data.get(name, "")
        for name, value in self._of_itself().items():
            sent.setdefault(f"{self.key}-{name}", value)
        if self.verb.verb == "pot-up" and not sent.get(f"{self.key}-pot_size"):
            size = likely_size(self.lot)
            sent[f"{self.key}-pot_size"] = str(size.pk) if size else ""
        return self._alone(self.verb.form(sent, self.files, **words))

    def _usual(self) -> dict[str, int]:
        return {"looked_at": self.n} if self.verb.verb == "check" else {}

    @staticmethod
    def _alone(form: RecordForm) -> RecordForm:
        """Without what is for a page with one form: its big boxes, and where one begins to type."""
        for one in form.fields.values():
            one.widget.attrs.pop("autofocus", None)
            one.widget.attrs.pop("class", None)
        return form

    def _of_itself(self) -> dict[str, str]:
        """What the one-lot page asks for, and a row knows."""
        lot, pots = self.lot, self.part.what == "pots"
        if self.verb.verb == "leave":
            return {"stage": Leave.Where.FINISHED if lot.pots_finished else Leave.Where.GROWING}
        return {
            "stage": Loss.Where.POT if pots or not lot.cells else Loss.Where.CELL,
            "what": self.part.what,
        }

    def tap(self, name: str) -> None:
        """As if what the button of that name stands for had been typed: a quick one, or the yes to
        a number that looks like a slip (`sure-480`)."""
        typed = {known: values for known, _says, values in self.quick}.get(name, {})
        yes, _dash, number = name.partition("-")
        if yes == "sure":
            typed = {"sure": number}
        self.data = self.data.copy() if self.data else QueryDict(mutable=True)
        for at, value in typed.items():
            self.data[f"{self.key}-{at}"] = str(value)
        self.form = self._form()
