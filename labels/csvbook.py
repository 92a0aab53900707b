"""What the nursery set up for its tags, as CSV files of the book: its own label stocks, its
printers, and what stands on the tags."""

from dataclasses import fields

from django.core.exceptions import ValidationError
from django.db.models import Model

from labels.models import LENGTHS, LabelStock, Printer, TagSettings, Unit
from labels.stock import LabelStock as Measurements
from labels.stock import faults
from labels.translating import translated
from lots.csvbook.cells import choice, key, number, text, whole, yes_no
from lots.csvbook.rules import Rule, Says
from lots.csvbook.table import Table, column, table


def _as_model(model: type[Model], *names: str) -> Rule:
    """What the model itself has to say of a row."""

    def says(row) -> Says:
        made = model(**{name: getattr(row, name) for name in names})
        try:
            made.full_clean(validate_unique=False)
        except ValidationError as fault:
            for field, texts in fault.message_dict.items():
                for said in texts:
                    yield field if field in names else names[0], said

    return Rule(frozenset(names), says)


def _measured(row) -> Says:
    measured = {each.name: getattr(row, each.name) for each in fields(Measurements)}
    for field, fault in faults(Measurements(**measured)):
        yield field, translated(fault)


STOCK = ("name", "unit", "columns", "rows", *LENGTHS, "folded")
PRINTER = ("name", "offset_x", "offset_y", "scale_percent")
WORDING = (
    *("nursery_line", "protected_notice", "passport", "registration", "member_state"),
    *("passport_words", "origin"),
)

TABLES: tuple[Table, ...] = (
    table(
        "labelstocks",
        LabelStock,
        column("name", key(80)),
        column("unit", choice(Unit.values)),
        column("columns", whole(1, 50)),
        column("rows", whole(1, 100)),
        *(column(length, number(0, 2000)) for length in LENGTHS),
        column("folded", yes_no()),
        key="name",
        rules=(Rule(frozenset(STOCK), _measured),),
    ),
    table(
        "printers",
        Printer,
        column("name", key(60)),
        column("offset_x", number(-20, 20)),
        column("offset_y", number(-20, 20)),
        column("scale_percent", number(90, 110)),
        key="name",
    ),
    table(
        "tagwording",
        TagSettings,
        column("number", whole(1, 1), "pk"),
        column("nursery_line?", text(60)),
        column("protected_notice", yes_no()),
        column("passport", yes_no()),
        column("registration?", text(30)),
        column("member_state?", text(2)),
        column("passport_words?", text(40)),
        column("origin?", text(2)),
        column("place?", yes_no(), later=True),
        key="number",
        rules=(_as_model(TagSettings, *WORDING),),
    ),
    table(
        "petgroups",
        TagSettings.pet_groups.through,
        column("number", whole(1, 1), "tagsettings", to="tagwording"),
        column("group", key(), "cropgroup", to="crops"),
        key="number group",
    ),
)
