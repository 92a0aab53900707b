"""Varieties and their stock plants out of a spreadsheet's lines: which column is which, names taken
apart, codes made, and what is wrong with which line. Nothing is written before somebody has seen
what would be."""

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from io import StringIO

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from simple_history.utils import bulk_create_with_history

from lots import names
from lots.catalogue.genera import genus_of
from lots.forecast import handbook
from lots.models import CropGroup, Place, StockPlant, Variety

# What a column can be, and how its head may be written (in small letters).
COLUMNS = {
    "name": (gettext_lazy("name"), "name variety plant cultivar-name plant-name description item"),
    "group": (gettext_lazy("crop group"), "group crop crop-group kind type category"),
    "genus": (gettext_lazy("genus"), "genus"),
    "species": (gettext_lazy("epithet"), "species epithet"),
    "cultivar": (gettext_lazy("cultivar"), "cultivar"),
    "code": (gettext_lazy("code"), "code sku no number nr id"),
    "plants": (
        gettext_lazy("stock plants"),
        "plants stock-plants stock mothers mother-plants qty quantity count",
    ),
    "place": (gettext_lazy("place"), "place bench location position where stands"),
    "pieces": (gettext_lazy("pieces a cut"), "pieces pieces-per-cut cuttings pieces-a-cut"),
    "since": (gettext_lazy("since"), "since date acquired bought from-date"),
    "supplier": (gettext_lazy("supplier"), "supplier source from"),
    "licence": (gettext_lazy("licence"), "licence license"),
    "note": (gettext_lazy("note"), "note notes remark remarks comment comments"),
}
WORDS = {word: name for name, (_says, words) in COLUMNS.items() for word in words.split()}
MOST_LINES = 2000
MOST_PLANTS = 9999


@dataclass
class Line:
    """A line and what it would add; one with `faults` adds nothing. `already` is the variety of
    that name that the book has."""

    number: int
    variety: Variety
    group: str
    plant: StockPlant | None = None
    already: Variety | None = None
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Pasted:
    """`heads` are the first line's cells where it is a head; `columns` what each column is, empty
    where it is not used; `groups` those that the book doesn't have yet."""

    heads: list[str]
    columns: list[str]
    lines: list[Line]
    groups: dict[str, CropGroup]

    @property
    def new(self) -> list[Line]:
        return [line for line in self.lines if not (line.faults or line.already)]

    @property
    def plants(self) -> list[StockPlant]:
        return [line.plant for line in self.new if line.plant]

    @property
    def faulty(self) -> list[Line]:
        return [line for line in self.lines if line.faults]


def separator(line: str) -> str:
    """What stands between the cells of a pasted line; nothing, where it is a single cell."""
    return next((mark for mark in "\t;," if mark in line), "")


def cells_of(text: str) -> list[list[str]]:
    """The cells of pasted lines: with tabs between, as spreadsheets copy them, or semicolons, or
    commas."""
    between = separator(text.strip().partition("\n")[0]) or "\t"
    rows = csv.reader(StringIO(text.strip("\r\n")), delimiter=between, strict=False)
    return [[" ".join(cell.split()) for cell in row] for row in rows if any(map(str.strip, row))]


def columns_of(rows: Sequence[Sequence[str]]) -> tuple[list[str], list[str]]:
    """The heads, empty where the first line is none, and what each column is. Without a head the
    first column is the name and the second, where there is one, the crop group."""
    wide = max(map(len, rows), default=0)
    heads = [re.sub(r"[\s_]+", "-", head.casefold().strip(" :.#")) for head in rows[0]]
    known = [WORDS.get(head, "") for head in heads]
    if any(known):
        once = [name if name not in known[:n] else "" for n, name in enumerate(known)]
        return list(rows[0]), once + [""] * (wide - len(once))
    return [], (["name", "group"] + [""] * wide)[:wide]


def read(text: str, columns: Sequence[str] | None = None, each_has_plant: bool = False) -> Pasted:
    """What pasted lines say. `columns` are what somebody has said the columns are, in place of what
    their heads say; `each_has_plant` gives each variety a stock plant where no column tells."""
    rows = cells_of(text)
    if not rows:
        return Pasted([], [], [], {})
    heads, found = columns_of(rows)
    used = list(columns) if columns and len(columns) == len(found) else found
    reading = _Reading(used, each_has_plant)
    body = rows[1:] if heads else rows
    start = 2 if heads else 1
    lines = [reading.line(number, row) for number, row in enumerate(body, start=start)]
    return Pasted(heads, used, lines, reading.new_groups)


@transaction.atomic
def write(pasted: Pasted, by) -> tuple[int, int]:
    """Add what the lines without fault say; returns how many varieties and stock plants."""
    for group in pasted.groups.values():
        group.save()
    for line in pasted.new:
        line.variety.group = pasted.groups.get(line.group.casefold()) or line.variety.group
    varieties = [line.variety for line in pasted.new]
    bulk_create_with_history(varieties, Variety, default_user=by)
    made = Variety.objects.in_bulk([one.code for one in varieties], field_name="code")
    plants = pasted.plants
    for plant in plants:
        plant.variety = made[plant.variety.code]
    bulk_create_with_history(plants, StockPlant, default_user=by)
    return len(varieties), len(plants)


class _Reading:
    """Lines read one after the other: none gets a name or a code that another has."""

    def __init__(self, columns: Sequence[str], each_has_plant: bool) -> None:
        self.columns = columns
        self.each_has_plant = each_has_plant and "plants" not in columns
        self.groups = {group.name.casefold(): group for group in CropGroup.objects.all()}
        self.new_groups: dict[str, CropGroup] = {}
        self.places = {place.name.casefold(): place for place in Place.objects.all()}
        known = list(Variety.objects.all())
        self.by_name = {str(variety).casefold(): variety for variety in known}
        self.codes = {variety.code.casefold() for variety in known}
        self.plant_codes = {
            code.casefold() for code in StockPlant.objects.values_list("code", flat=True)
        }

    def line(self, number: int, row: Sequence[str]) -> Line:
        told = {name: cell for name, cell in zip(self.columns, row, strict=False) if name}
        group = self._group(told)
        parts = names.taken_apart(told.get("name", ""), told.get("genus") or group.genus)
        variety = Variety(
            genus=told.get("genus") or parts.genus,
            species=told.get("species") or parts.species,
            hybrid=parts.hybrid,
            cultivar=(told.get("cultivar") or parts.cultivar).strip("'‘’\""),
            licence=told.get("licence", ""),
            protected=bool(told.get("licence")),
            note=told.get("note", ""),
        )
        if not group.name:
            group = self._group_of_genus(variety.genus)
        line = Line(number, variety, group.name)
        if group.pk:
            variety.group = group
        shown = str(variety).strip()
        line.already = self.by_name.get(shown.casefold())
        if not variety.genus:
            line.faults.append(
                _("Which genus? Write it before the name, or choose a crop group that has one.")
            )
        elif not (variety.species or variety.cultivar):
            line.faults.append(_("It has a genus alone: what is it called?"))
        if line.already or line.faults:
            return line
        self._code(line, told.get("code", ""))
        self._plant(line, told)
        self._check(line)
        if not line.faults:
            self.by_name[shown.casefold()] = variety
        return line

    def _group(self, told: dict[str, str]) -> CropGroup:
        name = told.get("group", "")
        return self.groups.get(name.casefold()) or (
            self._new_group(name, told.get("genus", "")) if name else CropGroup()
        )

    def _group_of_genus(self, genus: str) -> CropGroup:
        """The only group of a genus; else one named by it."""
        of_genus = [one for one in self.groups.values() if genus and one.genus == genus]
        if len(of_genus) == 1:
            return of_genus[0]
        found = self.groups.get(genus.casefold())
        return found or (self._new_group(genus.casefold(), genus) if genus else CropGroup())

    def _new_group(self, name: str, genus: str) -> CropGroup:
        """A group that the book is to have; what it roots like is proposed by its name."""
        like = handbook.propose_kind(name)
        made = CropGroup(name=name[:60], genus=genus or genus_of(like), roots_like=like)
        self.groups[name.casefold()] = self.new_groups[name.casefold()] = made
        return made

    def _code(self, line: Line, typed: str) -> None:
        if typed and typed.casefold() in self.codes:
            line.faults.append(_("The code %(code)s is taken.") % {"code": typed})
        line.variety.code = typed or next_code(line.group or line.variety.genus, self.codes)
        self.codes.add(line.variety.code.casefold())

    def _plant(self, line: Line, told: dict[str, str]) -> None:
        """Its stock plants, as one row of the book: a bed of several under one code."""
        text = told.get("plants", "1" if self.each_has_plant else "")
        count = int(text) if text.isdecimal() and len(text) < 6 else None
        if text and (count is None or count > MOST_PLANTS):
            line.faults.append(_("“%(text)s” is no number of stock plants.") % {"text": text})
        if not count:
            return
        plant = StockPlant(
            code=f"{line.variety.code}-01",
            variety=line.variety,
            supplier=told.get("supplier", ""),
            plants=count,
            since=self._day(line, told.get("since", "")),
            place=self._place(line, told.get("place", "")),
            pieces_per_cut=self._pieces(line, told.get("pieces", "")),
        )
        if plant.code.casefold() in self.plant_codes:
            line.faults.append(_("The code %(code)s is taken.") % {"code": plant.code})
        line.plant = plant

    def _place(self, line: Line, text: str) -> Place | None:
        place = self.places.get(text.casefold())
        if text and place is None:
            line.faults.append(_("There is no place “%(text)s”: enter it first.") % {"text": text})
        return place

    @staticmethod
    def _day(line: Line, text: str) -> date:
        try:
            return date.fromisoformat(text) if text else timezone.localdate()
        except ValueError:
            line.faults.append(
                _("“%(text)s” is no day; write it like 2026-03-31.") % {"text": text}
            )
            return timezone.localdate()

    @staticmethod
    def _pieces(line: Line, text: str) -> int | None:
        if text and not (text.isdecimal() and 0 < int(text[:5]) < 32768 and len(text) < 6):
            line.faults.append(_("“%(text)s” is no number of pieces.") % {"text": text})
            return None
        return int(text) if text else None

    @staticmethod
    def _check(line: Line) -> None:
        """What the rows themselves refuse: too long, a day to come."""
        for row, left_out in ((line.variety, ["group"]), (line.plant, ["variety", "from_lot"])):
            try:
                if row is not None:
                    row.clean_fields(exclude=left_out)
                    row.clean()
            except ValidationError as fault:
                for name, says in fault.message_dict.items():
                    title = row._meta.get_field(name).verbose_name
                    line.faults.extend(f"{title}: {one}" for one in says)


def next_code(of: str, taken: Iterable[str]) -> str:
    """A code for a variety of a group: letters of its name, and the next number that is free."""
    words = re.findall(r"[a-zA-Z]+", of) or ["v"]
    letters = "".join(word[0] for word in words[:3]) if len(words) > 1 else words[0][:2]
    number = 1
    while (code := f"{letters.upper()}{number:02}").casefold() in taken:
        number += 1
    return code
