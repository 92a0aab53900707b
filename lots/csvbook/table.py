"""What a table and a column are; `columns` lists them."""

from collections import namedtuple
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Model

from lots.csvbook.cells import Kind, lot_code, moment, sign_in_name, text, uid
from lots.models import RECORDS


@dataclass(frozen=True)
class Column:
    """`to` is the table that the cell names a row of; `field` the model's name for it."""

    name: str
    kind: Kind
    field: str
    path: object  # what the database is asked for
    optional: bool
    to: str | None


@dataclass(frozen=True)
class Table:
    """`key` are the columns that tell one row from another; `order` is that of an export."""

    name: str
    model: type[Model]
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    order: tuple[str, ...]
    record: str = ""  # the kind of record

    @cached_property
    def row(self):
        """The type of a parsed row: where it stands, and its cells by the model's names."""
        names = [column.field for column in self.columns]
        return namedtuple(self.name, ["file", "number", *names])

    @cached_property
    def by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}

    @property
    def paths(self) -> list[object]:
        return [column.path for column in self.columns]

    def key_of(self, row) -> object:
        """The key of a parsed row: one value, or several in a tuple."""
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
}


def column(name: str, kind: Kind, as_field: str = "", *, to: str = "", path: object = None):
    optional, name = name.endswith("?"), name.rstrip("?")
    as_field = as_field or name
    if path is None:
        path = f"{as_field}__{NAMED_BY[to]}" if to else as_field
    return Column(name, kind, as_field, path, optional, to or None)


def table(name: str, model: type[Model], *columns: Column, key: str, order: str = "") -> Table:
    names = tuple(key.split())
    paths = [column.path for column in columns if column.name in names]
    return Table(name, model, columns, names, tuple(order.split() or paths))


def records(name: str, kind: str, *columns: Column) -> Table:
    """A table of records: in order of lot, moment and entry, so that an import keeps the order
    in which records of one moment were entered."""
    shared = (
        column("uuid?", uid()),
        column("lot", lot_code(), to="lots"),
        column("observed_at", moment()),
        column("by", sign_in_name(), to="people"),
    )
    why = column("voided_why?", text(200))
    order = ("lot__code", "observed_at", "pk")
    return Table(name, RECORDS[kind], (*shared, *columns, why), ("uuid",), order, kind)
