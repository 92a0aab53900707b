"""The tables and their columns, as data. A `?` after a name: the cell may be empty, and the
column left out. The tables of records are in `record_tables`."""

from django.contrib.auth import get_user_model
from django.db.models import Case, F, IntegerField, Q, Value, When

from lots.csvbook import rules
from lots.csvbook.cells import (
    INTEGER,
    SMALL_INTEGER,
    as_json,
    choice,
    decimal,
    drawing,
    key,
    lot_code,
    share,
    sign_in_name,
    text,
    whole,
    yes_no,
)
from lots.csvbook.days import day, moment, week
from lots.csvbook.record_tables import RECORD_TABLES
from lots.csvbook.table import Table, column, table
from lots.forecast import handbook
from lots.models import (
    Arm,
    Correction,
    CropGroup,
    Cut,
    Limit,
    Lot,
    Method,
    NotedChange,
    Outcome,
    Place,
    PotSize,
    Refusal,
    SourcePart,
    Stage,
    StickingSession,
    StockPlant,
    Target,
    Trial,
    Variety,
)
from lots.models.lot import MOST_PIECES, MOST_UNITS
from lots.models.stock import Health, Origin
from lots.models.trial import LETTERS

# The format has no column for a lot whose tag is void because nothing was stuck: it is the lot
# with 0 stuck units and no day of sticking.
STUCK_UNITS = Case(
    When(stage=Stage.NOT_STUCK, then=Value(0)),
    default=F("stuck_units"),
    output_field=IntegerField(),
)

# Of targets, open or closed.
WANTED = (
    column("variety", key(), to="varieties"),
    column("pot_size", key(), to="potsizes"),
    column("pots", whole(1)),
    column("wanted_by", day()),
    column("for?", text(100), "for_whom"),
    column("note?", text()),
    column("confidence?", share(), later=True),
    column("every_weeks?", whole(1, 520), later=True),
    column("until?", day(), later=True),
)
WANTED_ORDER = (
    "wanted_by variety__code pot_size__name pots for_whom note confidence every_weeks until"
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
            column("roots_like?", choice(handbook.kinds(), empty=""), later=True),
            key="group",
        ),
        table(
            "methods",
            Method,
            column("method", key(60), "name"),
            column("source_part", choice(SourcePart.values)),
            column("pieces_per_source?", whole(1, SMALL_INTEGER)),
            column("needs_shoot", yes_no()),
            column("pieces_per_hour?", whole(1, SMALL_INTEGER), later=True),
            column("how_to?", text(), later=True),
            column("cut_like?", choice(handbook.methods(), empty=""), later=True),
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
            rules=rules.POT_SIZE,
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
            column("planned_units", whole(1, MOST_UNITS)),
            column("pieces_per_unit", whole(1, MOST_PIECES)),
            column("direct_pot_size?", key(), to="potsizes"),
            column("medium?", text(80)),
            column("hormone?", text(80)),
            column("flat?", key(20), path="flat__code"),
            column("place?", key(), "first_place", to="places"),
            column("stuck_on?", day()),
            column("stuck_units?", whole(0, MOST_UNITS), path=STUCK_UNITS),
            column("stuck_by?", sign_in_name(), to="people"),
            column("note?", text()),
            key="code",
            order="session__day session__code line code",
            rules=rules.LOT,
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
            column("plants?", whole(1, SMALL_INTEGER), later=True),
            key="code",
            rules=rules.STOCK_PLANT,
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
        *RECORD_TABLES,
        table(
            "targets",
            Target,
            *WANTED,
            key="variety pot_size pots wanted_by for note",
            order=WANTED_ORDER,
            rules=rules.TARGET,
            where=Q(outcome=""),
            repeats=True,
        ),
        table(
            "closedtargets",
            Target,
            *WANTED,
            column("outcome", choice(Outcome.values)),
            column("closed_on", day()),
            key="variety pot_size pots wanted_by for note",
            order=f"{WANTED_ORDER} closed_on outcome",
            rules=rules.TARGET,
            where=~Q(outcome=""),
            repeats=True,
        ),
        table(
            "limits",
            Limit,
            column("week?", week()),
            column("flats?", whole(0)),
            column("cells_per_flat?", whole(1, SMALL_INTEGER)),
            column("minutes?", whole(0)),
            column("pot_area_m2?", decimal(8, 2, least=0)),
            key="week",
        ),
        table(
            "changes",
            NotedChange,
            column("day", day()),
            column("what", text(100)),
            column("house?", text(40)),
            column("group?", key(), to="crops"),
            key="day what house group",
            order="day what house group__name",
        ),
        table(
            "trials",
            Trial,
            column("trial", key(12), "code"),
            column("session", key(), to="sessions"),
            column("question", text(200)),
            column("variety", key(), to="varieties"),
            column("seed", whole(0, INTEGER)),
            column("across", whole(1, SMALL_INTEGER)),
            column("cells", drawing(LETTERS)),
            key="trial",
        ),
        table(
            "arms",
            Arm,
            column("trial", key(), to="trials"),
            column("arm", choice(LETTERS), "letter"),
            column("method", key(), to="methods"),
            column("medium?", text(80)),
            column("hormone?", text(80)),
            key="trial arm",
        ),
        table(
            "triallots",
            Lot,
            column("lot", lot_code(), "lot", to="lots", path="code"),
            column("trial", key(), to="trials", path="arm__trial__code"),
            column("arm", choice(LETTERS), path="arm__letter"),
            key="lot",
            where=Q(arm__isnull=False),
        ),
        table(
            "corrections",
            Correction,
            column("lot", lot_code(), to="lots"),
            column("at", moment()),
            column("by", sign_in_name(), to="people"),
            column("why?", text(200)),
            column("field", key(20)),
            column("before?", text()),
            column("after?", text()),
            key="lot at field",
            order="lot__code at pk",
        ),
        table(
            "refusals",
            Refusal,
            column("uuid", key(40)),
            column("lot?", text(40), "lot_text"),
            column("sent", as_json()),
            column("why", text()),
            column("by", sign_in_name(), to="people"),
            column("received_at", moment()),
            column("settled_at?", moment()),
            column("settled_by?", sign_in_name(), to="people"),
            column("settled_how?", text(200)),
            key="uuid",
            order="received_at uuid",
            rules=rules.REFUSAL,
        ),
    )
}


def add_tables(*tables: Table) -> None:
    """Take the tables of another room into the book's files. A room that stands above this one
    calls it once, when the program starts."""
    TABLES.update({added.name: added for added in tables})
