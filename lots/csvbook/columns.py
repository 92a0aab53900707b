"""The tables and their columns, as data. A `?` after a name: the cell may be empty, and the
column left out."""

from collections import namedtuple
from dataclasses import dataclass
from functools import cached_property

from django.contrib.auth import get_user_model
from django.db.models import Case, F, IntegerField, Model, Value, When

from lots.csvbook.cells import (
    SMALL_INTEGER,
    Kind,
    choice,
    day,
    decimal,
    key,
    lot_code,
    moment,
    sign_in_name,
    text,
    uid,
    whole,
    yes_no,
)
from lots.models import (
    RECORDS,
    CropGroup,
    Cut,
    Leave,
    Loss,
    Lot,
    Method,
    Place,
    PotSize,
    SourcePart,
    Stage,
    StickingSession,
    StockPlant,
    Target,
    Variety,
)
from lots.models.stock import Health, Origin


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


# The format has no column for a lot whose tag is void because nothing was stuck: it is the lot
# with 0 stuck units and no day of sticking.
STUCK_UNITS = Case(
    When(stage=Stage.NOT_STUCK, then=Value(0)),
    default=F("stuck_units"),
    output_field=IntegerField(),
)

# In an order in which each table refers to earlier ones only.
TABLES = {
    made.name: made
    for made in (
        table(
            "crops",
            CropGroup,
            column("group", key(60), "name"),
            column("genus?", text(60)),
            key="group",
        ),
        table(
            "methods",
            Method,
            column("method", key(60), "name"),
            column("source_part", choice(SourcePart.values)),
            column("pieces_per_source?", whole(1, SMALL_INTEGER)),
            column("needs_shoot", yes_no()),
            key="method",
        ),
        table(
            "potsizes",
            PotSize,
            column("pot_size", key(40), "name"),
            column("diameter_cm", decimal(4, 1, least=1)),
            column("pieces_per_pot", whole(1, SMALL_INTEGER)),
            column("least_struck", whole(1, SMALL_INTEGER)),
            key="pot_size",
            order="diameter_cm name",
        ),
        table(
            "places",
            Place,
            column("place", key(40), "name"),
            column("walk_order", whole()),
            key="place",
            order="walk_order name",
        ),
        table(
            "people",
            get_user_model(),
            column("username", sign_in_name()),
            column("name", text(80)),
            column("initials", text(5)),
            column("role", choice(["grower", "manager"])),
            key="username",
        ),
        table(
            "varieties",
            Variety,
            column("code", key(20)),
            column("group", key(), to="crops"),
            column("genus", text(60)),
            column("species?", text(60)),
            column("hybrid", yes_no()),
            column("cultivar?", text(60)),
            column("trade_name?", text(60)),
            column("protected", yes_no()),
            column("licence?", text(100)),
            column("note?", text()),
            key="code",
        ),
        table(
            "sessions",
            StickingSession,
            column("session", key(20), "code"),
            column("day", day()),
            column("led_by?", sign_in_name(), to="people"),
            column("disinfectant?", text(80)),
            key="session",
            order="day code",
        ),
        table(
            "lots",
            Lot,
            column("code", lot_code()),
            column("session?", key(), to="sessions"),
            column("variety", key(), to="varieties"),
            column("method", key(), to="methods"),
            column("planned_units", whole(1)),
            column("pieces_per_unit", whole(1, SMALL_INTEGER)),
            column("direct_pot_size?", key(), to="potsizes"),
            column("medium?", text(80)),
            column("hormone?", text(80)),
            column("flat?", key(20), path="flat__code"),
            column("place?", key(), "first_place", to="places"),
            column("stuck_on?", day()),
            column("stuck_units?", whole(), path=STUCK_UNITS),
            column("stuck_by?", sign_in_name(), to="people"),
            column("note?", text()),
            key="code",
            order="session__day session__code line code",
        ),
        table(
            "stockplants",
            StockPlant,
            column("code", key(20)),
            column("variety", key(), to="varieties"),
            column("origin", choice(Origin.values)),
            column("from_lot?", lot_code(), to="lots"),
            column("supplier?", text(100)),
            column("since", day()),
            column("place?", key(), to="places"),
            column("health", choice(Health.values)),
            column("pieces_per_cut?", whole(1, SMALL_INTEGER)),
            column("rest_weeks?", whole(0, SMALL_INTEGER)),
            key="code",
        ),
        table(
            "cuts",
            Cut,
            column("lot", lot_code(), to="lots"),
            column("stock_plant", key(), to="stockplants"),
            column("pieces?", whole(1)),
            column("order", whole()),
            column("disinfected_before", yes_no()),
            key="lot stock_plant",
            order="lot__code order stock_plant__code",
        ),
        records(
            "checks",
            "check",
            column("looked_at", whole(1)),
            column("rooted", whole()),
            column("showing?", whole()),
            column("whole_lot", yes_no()),
            column("note?", text(300)),
        ),
        records(
            "losses",
            "loss",
            column("stage", choice(Loss.Where.values)),
            column("units", whole(1)),
            column("reason", choice(Loss.Reason.values)),
            column("note?", text(300)),
        ),
        records("moves", "move", column("place", key(), to="places")),
        records(
            "potups",
            "potup",
            column("units", whole(1)),
            column("pots", whole(1)),
            column("pot_size", key(), to="potsizes"),
        ),
        records(
            "finishes",
            "finish",
            column("pots", whole(1)),
            column("pot_size?", key(), to="potsizes"),
        ),
        records(
            "leaves",
            "leave",
            column("pots", whole(1)),
            column("from", choice(Leave.Where.values), "stage"),
            column("kind", choice(Leave.Way.values), "way"),
            column("to?", text(100)),
        ),
        table(
            "targets",
            Target,
            column("variety", key(), to="varieties"),
            column("pot_size", key(), to="potsizes"),
            column("pots", whole(1)),
            column("wanted_by", day()),
            column("for?", text(100), "for_whom"),
            column("note?", text()),
            key="variety pot_size pots wanted_by for note",
            order="wanted_by variety__code pot_size__name pots for_whom note",
        ),
    )
}
