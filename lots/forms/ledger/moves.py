"""Carrying a lot elsewhere, and potting it up, which carries its pots."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots.forms.asking import AskingForm
from lots.forms.fields import number
from lots.forms.ledger.records import RecordForm
from lots.ledger.flats import carried_along
from lots.models import Lot, Move, Place, PotSize, PotUp, Record
from lots.outlook.sizes import likely_size


class MoveForm(RecordForm):
    """`along` are the other lots that go when the flat is carried, `elsewhere` those that share it
    and stand at another place in the book."""

    model = Move
    verb = "move"
    heading = gettext_lazy("Move")

    place = forms.ModelChoiceField(Place.objects.all(), label=gettext_lazy("New place"))
    what = forms.ChoiceField(label=gettext_lazy("What"), required=False, widget=forms.RadioSelect)
    whole_flat = forms.BooleanField(
        label=gettext_lazy("Move the whole flat"), required=False, initial=True
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.along, self.elsewhere = carried_along(self.lot)
        if self.along:
            self.fields["whole_flat"].label = _("Move the whole flat %(flat)s") % {
                "flat": self.lot.flat
            }
        else:
            del self.fields["whole_flat"]
        if self.lot.cells and self.lot.pots_here:
            self._ask_what()
        else:
            del self.fields["what"]

    def _ask_what(self) -> None:
        cells, *others = (str(part.place or _("no place")) for part in self.lot.parts)
        pots = others[0] if others else cells
        words = {"cells": self.lot.cells, "pots": self.lot.pots_here, "here": cells, "there": pots}
        field = self.fields["what"]
        field.choices = [
            (Move.What.CELLS, _("its cells (%(cells)s alive, at %(here)s)") % words),
            (Move.What.POTS, _("its pots (%(pots)s, at %(there)s)") % words),
            (Move.What.ALL, _("all of it")),
        ]
        if self.at_pots:
            field.initial = Move.What.POTS
        else:
            field.initial = Move.What.CELLS if others or self.along else Move.What.ALL

    def entry(self, **shared) -> Record:
        return Move(place=self.cleaned_data["place"], what=self.goes(), **shared)

    def goes(self) -> str:
        """What of this lot goes; of a flat that is carried, the cells do."""
        return self.cleaned_data.get("what") or (
            Move.What.CELLS if self.carried() else Move.What.ALL
        )

    def carried(self) -> list[Lot]:
        """The other lots whose cells go with the flat; its pots leave the flat where it stands."""
        alone = self.cleaned_data.get("what") == Move.What.POTS
        return [] if alone or not self.cleaned_data.get("whole_flat") else self.along

    def also(self, by) -> list[tuple[Lot, list[Record]]]:
        shared = {"place": self.cleaned_data["place"], "observed_at": self.moment(), "by": by}
        return [
            (mate, [Move(uuid=self.riders_uuid(mate.code), what=Move.What.CELLS, **shared)])
            for mate in self.carried()
        ]

    def said(self) -> str:
        lots = len(self.carried()) + 1
        words = {"place": self.cleaned_data["place"], "n": lots}
        if lots > 1:
            return ngettext(
                "%(n)s lot moved to %(place)s", "%(n)s lots moved to %(place)s", lots
            ) % words  # fmt: skip
        return {
            Move.What.CELLS: _("cells moved to %(place)s"),
            Move.What.POTS: _("pots moved to %(place)s"),
            Move.What.ALL: _("moved to %(place)s"),
        }[self.goes()] % words


class PotSizeSelect(forms.Select):
    """The sizes, each with what goes into a pot for `pot-up.js` to reckon with."""

    def create_option(self, name, value, *args, **kwargs):
        option = super().create_option(name, value, *args, **kwargs)
        if size := getattr(value, "instance", None):
            option["attrs"]["data-pieces"] = size.pieces_per_pot
            option["attrs"]["data-least"] = size.least_struck
        return option


class PotSizeField(forms.ModelChoiceField):
    widget = PotSizeSelect

    def label_from_instance(self, size: PotSize) -> str:
        if size.pieces_per_pot == 1:
            return str(size)
        return _("%(size)s (%(pieces)s a pot)") % {"size": size, "pieces": size.pieces_per_pot}


class PotUpForm(AskingForm, RecordForm):
    model = PotUp
    verb = "pot-up"
    heading = gettext_lazy("Pot up")

    units = number(gettext_lazy("Units from cells"), big=True)
    pots = number(gettext_lazy("Pots made"), big=True, required=False)
    pot_size = PotSizeField(PotSize.objects.all(), label=gettext_lazy("Pot size"))
    place = forms.ModelChoiceField(
        Place.objects.all(), label=gettext_lazy("Where the pots go"), required=False
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        lot = self.lot
        self.fields["units"].help_text = _("%(n)s alive in cells.") % {"n": lot.cells}
        self.fields["units"].widget.attrs["data-pieces"] = lot.pieces_per_unit
        self.fields["pots"].help_text = _("Empty means as many as the pot size says.")
        self.fields["pot_size"].initial = likely_size(lot)
        stays = lot.parts[-1].place
        if lot.pots_here:
            self.fields["place"].help_text = _(
                "The pots that stand at %(place)s go there too: all pots of a lot stand together."
            ) % {"place": stays or _("no place")}  # fmt: skip
            says = _("where its pots stand: %(place)s")
        else:
            says = _("where its cells stand: %(place)s")
        if stays:
            self.fields["place"].empty_label = says % {"place": stays}

    def clean(self) -> None:
        super().clean()
        data = self.cleaned_data
        if self.errors or data["units"] > self.lot.cells:
            return
        says = data["pot_size"].pots_of(data["units"], self.lot.pieces_per_unit)
        pots = data["pots"] or says
        if self.looks_like_a_slip(pots, says):
            words = {"pots": pots, "says": says, "units": data["units"], "size": data["pot_size"]}
            self.ask(
                "pots",
                pots,
                _("%(units)s units fill %(says)s pots of %(size)s; %(pots)s pots. Is that right?")
                % words,
                _("Yes, %(pots)s") % words,
            )

    def made(self) -> int:
        """The pots made: as typed, or as the pot size says."""
        data = self.cleaned_data
        return data["pots"] or data["pot_size"].pots_of(data["units"], self.lot.pieces_per_unit)

    def entry(self, **shared) -> Record:
        data = self.cleaned_data
        return PotUp(units=data["units"], pots=self.made(), pot_size=data["pot_size"], **shared)

    def riders(self, **shared) -> list[Record]:
        place = self.cleaned_data["place"]
        if place is None:
            return []
        return [Move(uuid=self.riders_uuid("move"), place=place, what=Move.What.POTS, **shared)]

    def said(self) -> str:
        words = {"n": self.made(), "place": self.cleaned_data["place"]}
        if self.cleaned_data["place"]:
            says = ngettext(
                "%(n)s pot potted up, at %(place)s",
                "%(n)s pots potted up, at %(place)s",
                words["n"],
            )
        else:
            says = ngettext("%(n)s pot potted up", "%(n)s pots potted up", words["n"])
        return says % words
