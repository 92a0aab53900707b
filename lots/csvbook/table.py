"""What a table and a column are; `columns` lists them."""

from collections import namedtuple
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Model, Q, QuerySet

from lots.csvbook.cells import Kind, lot_code, sign_in_name, text, uid
from lots.csvbook.days import moment
from lots.csvbook.rules import RECORDED, Rule
from lots.models import RECORDS

NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Column:
    """`to` is the table that the cell names a row of; `field` the model's name for it.

    A column that came `later` is not in files of before, which say nothing of it (None): what the
    book has, or its model's default, stands.
    """

    name: str
    kind: Kind
    field: str
    path: object  # what the database is asked for
    optional: bool
    to: str | None
    later: bool = False


@dataclass(frozen=True)
class Table:
    """`key` are the columns that tell one row from another; `order` is that of an export.

    `rules` say what a row has to hold in itself; `where` which rows of the model are the table's.
    Where a row `repeats`, two may be equal, and each is one of its own.
    """

    name: str
    model: type[Model]
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    order: tuple[str, ...]
    record: str = ""  # the kind of record
    rules: tuple[Rule, ...] = ()
    where: Q | None = None
    repeats: bool = False

    @cached_property
    def row(self):
        """The type of a parsed row: where it stands, the fields whose cells could not be read
        (they are None), and its cells by the model's names."""
        names = [column.field for column in self.columns]
        return namedtuple(self.name, ["file", "number", "broken", *names])

    @cached_property
    def by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}

    @property
    def paths(self) -> list[object]:
        return [column.path for column in self.columns]

    @property
    def rows(self) -> QuerySet:
        """The table's rows in the book."""
        rows = self.model._base_manager.all()
        return rows if self.where is None else rows.filter(self.where)

    @cached_property
    def key_fields(self) -> frozenset[str]:
        return frozenset(self.by_name[name].field for name in self.key)

    def has_key(self, row) -> bool:
        return not (row.broken and row.broken & self.key_fields)

    def key_of(self, row) -> object:
        """The key of a parsed row that has one: one value, or several in a tuple."""
        values = tuple(getattr(row, self.by_name[name].field) for name in self.key)
        return values[0] if len(values) == 1 else values


# How a row of a table is named in the tables that refer to it.
NAMED_BY = {
    "crops": "name",
    "methods": "name",
    "potsizes": "name",
    "places": "name",
    "people": "username",
    "varieties": "code",
    "sessions": "code",
    "lots": "code",
    "stockplants": "code",
    "trials": "code",
    "tagwording": "pk",
}


def column(
    name: str,
    kind: Kind,
    as_field: str = "",
    *,
    to: str = "",
    path: object = None,
    later: bool = False,
) -> Column:
    optional, name = name.endswith("?"), name.rstrip("?")
    as_field = as_field or name
    if path is None:
        path = f"{as_field}__{NAMED_BY[to]}" if to else as_field
    return Column(name, kind, as_field, path, optional, to or None, later)


def table(
    name: str,
    model: type[Model],
    *columns: Column,
    key: str,
    order: str = "",
    rules: tuple[Rule, ...] = (),
    where: Q | None = None,
    repeats: bool = False,
) -> Table:
    names = tuple(key.split())
    paths = [column.path for column in columns if column.name in names]
    ordered = tuple(order.split() or paths)
    return Table(name, model, columns, names, ordered, rules=rules, where=where, repeats=repeats)


def records(name: str, kind: str, *columns: Column, rules: tuple[Rule, ...] = ()) -> Table:
    """A table of records: in order of lot, moment and entry, so that an import keeps the order
    in which records of one moment were entered."""
    shared = (
        column("uuid?", uid()),
        column("lot", lot_code(), to="lots"),
        column("observed_at", moment()),
        column("by", sign_in_name(), to="people"),
    )
    told = (
        column("voided_why?", text(200)),
        column("recorded_at?", moment(), later=True),
        column("voided_at?", moment(), later=True),
        column("voided_by?", sign_in_name(), to="people", later=True),
    )
    order = ("lot__code", "observed_at", "pk")
    every = (*shared, *columns, *told)
    return Table(name, RECORDS[kind], every, ("uuid",), order, kind, (*RECORDED, *rules))
