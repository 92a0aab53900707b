"""What two rows may not share though their keys differ: a name but for its capitals, a stock
plant's code and a lot's. And what they have to share: a plant and the lot it comes from are of
one variety. Held against the files and the book."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _

from lots import codes
from lots.csvbook.cells import short
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.csvbook.table import NAMED_BY
from lots.models import Flat, Lot, StockPlant

type Rows = dict[str, list]


def check_sameness(new: Rows, rows: Rows, faults: Faults) -> None:
    """`new` are the rows that the book doesn't have, `rows` all of the files."""
    for name, field in NAMED_BY.items():
        if name not in ("lots", "tagwording") and new[name]:
            table = TABLES[name]
            column = table.key[0]
            own = table.by_name[column].field
            book = table.model.objects.values_list(field, flat=True)
            _check_capitals(new[name], own, column, book, faults)
    _check_capitals(
        new["lots"], "flat", "flat", Flat.objects.values_list("code", flat=True), faults
    )
    _check_codes(new, faults)
    _check_varieties(new["stockplants"], rows, faults)


def _check_capitals(
    rows: list, field: str, column: str, book: Iterable[str], faults: Faults
) -> None:
    """Each name is written in one way."""
    named = [row for row in rows if getattr(row, field)]
    known: dict[str, str] = {}
    if named:
        known = {name.casefold(): name for name in book}
    for row in named:
        name = getattr(row, field)
        first = known.setdefault(name.casefold(), name)
        if first != name:
            says = _("%(name)s differs in capitals only from %(first)s; write one of them always")
            faults.add(
                row.file, row.number, column, says % {"name": short(name), "first": short(first)}
            )


def _check_codes(new: Rows, faults: Faults) -> None:
    """A code on a tag opens a lot or a stock plant, whichever hand it is typed by."""
    plants = [(row, code) for row in new["stockplants"] if (code := codes.read_or_none(row.code))]
    lots = {row.code for row in new["lots"]}
    standing = set(
        Lot.objects.filter(code__in=[code for _row, code in plants]).values_list("code", flat=True)
    )
    for row, code in plants:
        if code in lots or code in standing:
            says = _("%(code)s is a lot's code, and a scan would open the lot; choose another")
            faults.add(row.file, row.number, "code", says % {"code": short(row.code)})
    if lots:
        taken = dict(_read_as_lots())
        for row in new["lots"]:
            if row.code in taken:
                says = _("%(code)s is the code of stock plant %(plant)s in the book")
                words = {"code": codes.show(row.code), "plant": taken[row.code]}
                faults.add(row.file, row.number, "code", says % words)


def _read_as_lots() -> Iterator[tuple[str, str]]:
    """The stock plants of the book whose codes read as a lot's: what they read as, and the code."""
    for code in StockPlant.objects.values_list("code", flat=True):
        read = codes.read_or_none(code)
        if read:
            yield read, code


def _check_varieties(plants: list, rows: Rows, faults: Faults) -> None:
    """A stock plant from a lot is of its variety."""
    named = [row for row in plants if row.from_lot and row.variety]
    if not named:
        return
    lots = {row.code: row.variety for row in rows.get("lots", ())}
    asked = {row.from_lot for row in named} - lots.keys()
    lots |= dict(Lot.objects.filter(code__in=asked).values_list("code", "variety__code"))
    for row in named:
        its = lots.get(row.from_lot, row.variety)
        if its != row.variety:
            says = _("it comes from lot %(lot)s, so it is of that lot's variety, %(its)s")
            words = {"lot": codes.show(row.from_lot), "its": its}
            faults.add(row.file, row.number, "variety", says % words)
