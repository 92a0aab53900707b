"""The tables of records and what each has of its own, as data; `columns` has the others."""

from lots.csvbook import rules
from lots.csvbook.cells import choice, key, text, whole, yes_no
from lots.csvbook.table import column, records
from lots.models import Leave, Loss, Move

RECORD_TABLES = (
    records(
        "checks",
        "check",
        column("looked_at", whole(1)),
        column("rooted", whole()),
        column("showing?", whole()),
        column("whole_lot", yes_no()),
        column("note?", text(300)),
        rules=rules.CHECK,
    ),
    records(
        "losses",
        "loss",
        column("stage", choice(Loss.Where.values)),
        column("units", whole(1)),
        column("reason", choice(Loss.Reason.values)),
        column("note?", text(300)),
    ),
    records(
        "moves",
        "move",
        column("place", key(), to="places"),
        column("what?", choice(Move.What.values, empty=Move.What.ALL), later=True),
    ),
    records(
        "potups",
        "potup",
        column("units", whole(1)),
        column("pots", whole(1)),
        column("pot_size", key(), to="potsizes"),
        rules=rules.POT_UP,
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
)
