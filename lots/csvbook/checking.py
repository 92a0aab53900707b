"""Parsed rows held against each other and against the book: keys, references, and what a row
says in itself. A row with a cell that could not be read is held to all the rest, so that its
faults are told at once. Nothing is written here."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import batched

from django.db.models import Q
from django.utils.translation import gettext as _

from lots.csvbook.cells import short, shown
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.csvbook.sameness import check_sameness
from lots.csvbook.table import NAMED_BY, Table
from lots.csvbook.together import check_together

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
        if table.repeats:
            new = _beyond_equals(table, own)
        else:
            keyed = [row for row in own if table.has_key(row)]
            new = _new_rows(table, _without_twins(table, keyed, faults), faults)
        found.already[table.name] = len(own) - len(new)
        found.new[table.name] = new
        _check_references(table, own, names, faults)
        for row in own:
            for rule in table.rules:
                if not rule.needs & row.broken:
                    for column, says in rule.says(row):
                        faults.add(row.file, row.number, column, says)
    check_sameness(found.new, rows, faults)
    check_together(found.new, rows, faults)
    return found


class Names:
    """The names that rows of a table go by, in the files and (asked for when needed) the book."""

    def __init__(self, table: str, rows: Iterable) -> None:
        self.table = TABLES[table]
        self.in_files = {self.table.key_of(row) for row in rows if self.table.has_key(row)}
        self._in_book: set[str] | None = None

    @property
    def in_book(self) -> set[str]:
        if self._in_book is None:
            name = NAMED_BY[self.table.name]
            self._in_book = set(self.table.rows.values_list(name, flat=True))
        return self._in_book

    def __contains__(self, name: str) -> bool:
        return name in self.in_files or name in self.in_book

    def like(self, name: str) -> str | None:
        known = {str(each) for each in self.in_files | self.in_book}
        if len(known) > MOST_COMPARED:
            return None
        return next(iter(get_close_matches(str(name), known, n=1)), None)


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
            else:
                for column, says in _differences(table, row, cells):
                    faults.add(row.file, row.number, column, says)
    return new


def _shown_key(table: Table, row) -> tuple[str, ...]:
    columns = (table.by_name[name] for name in table.key)
    return tuple(shown(column.kind, getattr(row, column.field)) for column in columns)


def _standing(table: Table, rows: Iterable) -> dict[tuple[str, ...], list[str]]:
    """The cells of the rows in the book that have the first key of one of these rows, by key."""
    key = table.by_name[table.key[0]]
    wanted = {getattr(row, key.field) for row in rows}
    asked = Q((f"{key.path}__in", wanted - {None}))
    if None in wanted:  # a key may be that nothing is said: the limits of every week
        asked |= Q((f"{key.path}__isnull", True))
    found = {}
    where = [table.columns.index(table.by_name[name]) for name in table.key]
    for values in table.rows.filter(asked).values_list(*table.paths):
        cells = [
            shown(column.kind, value) for column, value in zip(table.columns, values, strict=True)
        ]
        found[tuple(cells[place] for place in where)] = cells
    return found


def _differences(table: Table, row, cells: list[str]) -> Iterator[tuple[str, str]]:
    """Column and sentence wherever a row of the book says something else than this one."""
    for column, stands in zip(table.columns, cells, strict=True):
        value = getattr(row, column.field)
        if column.field in row.broken or (column.later and value is None):
            continue
        if (here := shown(column.kind, value)) != stands:
            yield (
                column.name,
                _(
                    "%(key)s is already in the book with “%(stands)s”, and this says “%(here)s”; "
                    "change it in the book, or leave the row out"
                )
                % {"key": _name(table, row), "stands": short(stands), "here": short(here)},
            )


def _beyond_equals(table: Table, rows: list) -> list:
    """Rows of a table without a key: as many equal ones as the book has are left alone."""
    standing: Counter[tuple[str, ...]] = Counter()
    for values in table.rows.values_list(*table.paths) if rows else ():
        standing[_cells(table, values)] += 1
    new = []
    for row in rows:
        cells = _cells(table, [getattr(row, column.field) for column in table.columns])
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
        if column.to is None or column.to in faults.unread:
            continue
        known = names[column.to]
        for row in rows:
            name = getattr(row, column.field)
            if name is not None and name not in known:
                faults.add(row.file, row.number, column.name, _unknown(known, name))


def _unknown(known: Names, name: str) -> str:
    words = {"name": short(str(name)), "file": f"{known.table.name}.csv", "like": known.like(name)}
    if words["like"]:
        says = _("%(name)s is neither in the book nor in %(file)s; did you mean %(like)s?")
    else:
        says = _("%(name)s is neither in the book nor in %(file)s")
    return says % words
