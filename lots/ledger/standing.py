"""How a lot stands: its counts, sights, stage and place set from its records."""

from collections.abc import Iterable

from lots import tally
from lots.models import Lot, Record
from lots.models.lot import COUNTS, SIGHTS

FIELDS_OF_STANDING = [
    *COUNTS,
    *SIGHTS,
    "stage",
    "place",
    "pot_size",
]


def stand(lot: Lot, records: Iterable[Record]) -> None:
    """Set the lot's counts, sights, stage and place from its unvoided records."""
    counts = tally.replay(
        lot.stuck_units,
        direct=lot.direct,
        events=(entry.event() for entry in records),
        place=lot.first_place_id,
    )
    for name in (*COUNTS, *SIGHTS):
        setattr(lot, name, getattr(counts, name))
    lot.stage = tally.stage(counts)
    lot.place_id, lot.pot_size_id = counts.place, counts.pot_size
