"""Parsed rows held against each other and against the book: keys, references, and what a row
says in itself. Nothing is written here."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import batched

from django.utils.translation import gettext as _

from lots.csvbook.cells import short, shown
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.csvbook.rules import RULES
from lots.csvbook.table import NAMED_BY, Table
from lots.models import RECORDS, Lot, StockPlant, Variety

type Rows = dict[str, list]

BATCH = 500  # keys in one question to the database
MOST_COMPARED = 3000  # keys among which a similar one is looked for


@dataclass
class Findings:
    """The new rows of each table, and how many stand in the book already."""

    new: Rows = field(default_factory=dict)
    already: dict[str, int] = field(default_factory=dict)


def sort_out(rows: Rows, faults: Faults) -> Findings:
    """Which rows are new and which are in the book already; everything else is a fault."""
    found = Findings()
    names = {table: Names(table, rows.get(table, ())) for table in NAMED_BY}
    for table in TABLES.values():
        own = rows.get(table.name, [])
        if table.name == "targets":
            new = _beyond_equals(table, own)
        else:
            new = _new_rows(table, _without_twins(table, own, faults), faults)
        found.already[table.name] = len(own) - len(new)
        found.new[table.name] = new
        _check_references(table, own, names, faults)
        if table.name in RULES:
            for row in own:
                for column, says in RULES[table.name](row):
                    faults.add(row.file, row.number, column, says)
    _check_uuids(found.new, faults)
    _check_licences(found.new["lots"], rows, faults)
    _check_cuts(found.new["cuts"], rows, faults)
    return found


class Names:
    """The names that rows of a table go by, in the files and (asked for when needed) the book."""

    def __init__(self, table: str, rows: Iterable) -> None:
        self.table = TABLES[table]
        self.in_files = {self.table.key_of(row) for row in rows}
        self._in_book: set[str] | None = None

    @property
    def in_book(self) -> set[str]:
        if self._in_book is None:
            name = NAMED_BY[self.table.name]
            self._in_book = set(self.table.model.objects.values_list(name, flat=True))
        return self._in_book

    def __contains__(self, name: str) -> bool:
        return name in self.in_files or name in self.in_book

    def like(self, name: str) -> str | None:
        known = self.in_files | self.in_book
        if len(known) > MOST_COMPARED:
            return None
        return next(iter(get_close_matches(name, known, n=1)), None)


def _without_twins(table: Table, rows: list, faults: Faults) -> list:
    """The rows without those whose key an earlier row has."""
    first: dict[object, object] = {}
    for row in rows:
        twin = first.setdefault(table.key_of(row), row)
        if twin is not row:
            says = _("%(key)s stands already in row %(row)s of %(file)s") % {
                "key": _name(table, row),
                "row": twin.number,
                "file": twin.file,
            }
            faults.add(row.file, row.number, table.key[0], says)
    return list(first.values())


def _name(table: Table, row) -> str:
    return short(", ".join(_shown_key(table, row)))


def _new_rows(table: Table, rows: list, faults: Faults) -> list:
    """The rows whose key the book doesn't have. An equal row in the book is left alone."""
    new = []
    for some in batched(rows, BATCH):
        standing = _standing(table, some)
        for row in some:
            cells = standing.get(_shown_key(table, row))
            if cells is None:
                new.append(row)
            elif differing := _difference(table, row, cells):
                faults.add(row.file, row.number, *differing)
    return new


def _shown_key(table: Table, row) -> tuple[str, ...]:
    columns = (table.by_name[name] for name in table.key)
    return tuple(shown(column.kind, getattr(row, column.field)) for column in columns)


def _standing(table: Table, rows: Iterable) -> dict[tuple[str, ...], list[str]]:
    """The cells of the rows in the book that have the first key of one of these rows, by key."""
    key = table.by_name[table.key[0]]
    asked = {f"{key.path}__in": {getattr(row, key.field) for row in rows}}
    found = {}
    where = [table.columns.index(table.by_name[name]) for name in table.key]
    for values in table.model.objects.filter(**asked).values_list(*table.paths):
        cells = [
            shown(column.kind, value) for column, value in zip(table.columns, values, strict=True)
        ]
        found[tuple(cells[place] for place in where)] = cells
    return found


def _difference(table: Table, row, cells: list[str]) -> tuple[str, str] | None:
    """The column and the sentence, if a row of the book says something else than this one."""
    for column, stands in zip(table.columns, cells, strict=True):
        here = shown(column.kind, getattr(row, column.field))
        if here != stands:
            return column.name, _(
                "%(key)s is already in the book with “%(stands)s”, and this says “%(here)s”; "
                "change it in the book, or leave the row out"
            ) % {"key": _name(table, row), "stands": short(stands), "here": short(here)}
    return None


def _beyond_equals(table: Table, rows: list) -> list:
    """Rows of a table without a key: as many equal ones as the book has are left alone."""
    standing: Counter[tuple[str, ...]] = Counter()
    for values in table.model.objects.values_list(*table.paths) if rows else ():
        standing[_cells(table, values)] += 1
    new = []
    for row in rows:
        cells = _cells(table, row[2:])
        if standing[cells]:
            standing[cells] -= 1
        else:
            new.append(row)
    return new


def _cells(table: Table, values: Iterable) -> tuple[str, ...]:
    return tuple(
        shown(column.kind, value) for column, value in zip(table.columns, values, strict=True)
    )


def _check_references(table: Table, rows: list, names: dict[str, Names], faults: Faults) -> None:
    for column in table.columns:
        if column.to is None:
            continue
        known = names[column.to]
        for row in rows:
            name = getattr(row, column.field)
            if name is not None and name not in known:
                faults.add(row.file, row.number, column.name, _unknown(known, name))


def _unknown(known: Names, name: str) -> str:
    words = {"name": short(name), "file": f"{known.table.name}.csv", "like": known.like(name)}
    if words["like"]:
        says = _("%(name)s is neither in the book nor in %(file)s; did you mean %(like)s?")
    else:
        says = _("%(name)s is neither in the book nor in %(file)s")
    return says % words


def _check_uuids(new: Rows, faults: Faults) -> None:
    """No two records have one uuid, of whatever kinds they are."""
    tables = [table for table in TABLES.values() if table.record]
    first: dict[object, str] = {}
    for table in tables:
        for row in new[table.name]:
            if first.setdefault(row.uuid, table.name) != table.name:
                says = _("%(uuid)s stands already in %(file)s; each record has its own") % {
                    "uuid": row.uuid,
                    "file": f"{first[row.uuid]}.csv",
                }
                faults.add(row.file, row.number, "uuid", says)
    for table in tables:
        others = [model for kind, model in RECORDS.items() if kind != table.record]
        for some in batched(new[table.name], BATCH):
            rows = {row.uuid: row for row in some}
            for model in others:
                for taken in model.objects.filter(uuid__in=rows).values_list("uuid", flat=True):
                    says = _("%(uuid)s is a %(kind)s in the book; each record has its own") % {
                        "uuid": taken,
                        "kind": model._meta.verbose_name,
                    }
                    faults.add(rows[taken].file, rows[taken].number, "uuid", says)


def _check_licences(lots: list, rows: Rows, faults: Faults) -> None:
    """No lot of a protected variety is stuck without a licence."""
    shut = set(
        Variety.objects.filter(protected=True, licence="").values_list("code", flat=True)
    ) | {row.code for row in rows.get("varieties", ()) if row.protected and not row.licence}
    for row in lots:
        if row.variety in shut and row.stuck_on:
            faults.add(
                row.file,
                row.number,
                "variety",
                _(
                    "%(variety)s is protected and has no licence reference; it may not be "
                    "propagated without a licence: write the reference in varieties.csv"
                )
                % {"variety": row.variety},
            )


def _check_cuts(cuts: list, rows: Rows, faults: Faults) -> None:
    """A stock plant gives cuttings of its own variety only."""
    if not cuts:
        return
    of_plant = dict(StockPlant.objects.values_list("code", "variety__code"))
    of_plant |= {row.code: row.variety for row in rows.get("stockplants", ())}
    of_lot = dict(Lot.objects.values_list("code", "variety__code"))
    of_lot |= {row.code: row.variety for row in rows.get("lots", ())}
    for row in cuts:
        its, wanted = of_plant.get(row.stock_plant), of_lot.get(row.lot)
        if its and wanted and its != wanted:
            faults.add(
                row.file,
                row.number,
                "stock_plant",
                _("%(plant)s is of variety %(its)s, and the lot is of %(wanted)s")
                % {"plant": row.stock_plant, "its": its, "wanted": wanted},
            )
