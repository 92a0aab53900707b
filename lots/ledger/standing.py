"""How a lot stands: its counts, stage and place set from its records."""

from collections.abc import Iterable

from lots import outlook, tally
from lots.models import Lot, Record
from lots.models.lot import COUNTS

FIELDS_OF_STANDING = [
    *COUNTS,
    "stage",
    "place",
    "struck_on",
    "finished_on",
    "seen_on",
    *outlook.FIELDS_OF_LOT,
]


def stand(lot: Lot, records: Iterable[Record]) -> None:
    """Set the lot's counts, stage and place from its unvoided records."""
    counts = tally.replay(
        lot.stuck_units,
        direct=lot.direct,
        events=(entry.event() for entry in records),
        place=lot.first_place_id,
    )
    for name in COUNTS:
        setattr(lot, name, getattr(counts, name))
    lot.stage = tally.stage(counts)
    lot.place_id = counts.place
    lot.struck_on, lot.finished_on = counts.struck_on, counts.finished_on
    lot.seen_on = counts.seen_on
    outlook.look_ahead(lot)
