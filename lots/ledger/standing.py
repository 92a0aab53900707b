"""How a lot stands: its counts, days, stage and places set from its records."""

from collections.abc import Iterable, Mapping
from operator import attrgetter
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from lots import tally
from lots.models import RECORDS, Lot, Place, PotSize, Record, Stage
from lots.models.lot import COUNTS, OBSERVED

# The same as columns: places and pot size by their keys.
STANDING = (*COUNTS, *OBSERVED, "stage", "place_id", "pots_place_id", "pot_size_id")

FIELDS_OF_STANDING = [
    *COUNTS,
    *OBSERVED,
    "stage",
    "place",
    "pots_place",
    "pot_size",
]


def apply_records(lot: Lot, records: Iterable[Record]) -> None:
    """Set the lot's counts, days, stage and places from its unvoided records."""
    counts = tally.replay(
        lot.stuck_units,
        direct=lot.direct,
        events=(entry.event() for entry in records),
        place=lot.first_place_id,
    )
    for name in (*COUNTS, *OBSERVED):
        setattr(lot, name, getattr(counts, name))
    lot.stage = tally.stage(counts)
    lot.place_id, lot.pots_place_id = counts.place, counts.pots_place
    lot.pot_size_id = counts.pot_size


def nothing(lot_stage: str, first_place: int | None) -> dict[str, object]:
    """How a lot stands that was never stuck."""
    stands: dict[str, object] = dict.fromkeys(STANDING)
    stands |= dict.fromkeys([*COUNTS, "tested", "held"], 0)
    stands["stage"] = lot_stage if lot_stage == Stage.NOT_STUCK else Stage.PLANNED
    stands["place_id"] = first_place
    return stands


def clear(lot: Lot) -> None:
    """Set how a lot stands that was never stuck."""
    for name, value in nothing(lot.stage, lot.first_place_id).items():
        setattr(lot, name, value)


def names(using: str = "default") -> dict[str, dict[int, str]]:
    """What the keys of `STANDING` stand for."""
    places = dict(Place.objects.using(using).values_list("pk", "name"))
    sizes = dict(PotSize.objects.using(using).values_list("pk", "name"))
    return {"place_id": places, "pots_place_id": places, "pot_size_id": sizes}


def differences(
    stands: Mapping[str, object], right: Mapping[str, object], shown: Mapping[str, dict[int, str]]
) -> str:
    """A sentence for what stands in the book otherwise than its records say; `shown` as of
    `names`. Empty where nothing does."""

    def say(name: str, value: object) -> object:
        if value is None or value == "":
            return _("nothing")
        if name == "stage":
            return Stage(value).label
        return shown[name].get(value, value) if name in shown else value

    differing = [
        _("%(what)s is %(stands)s in the book and %(right)s by its records")
        % {
            "what": Lot._meta.get_field(name.removesuffix("_id")).verbose_name,
            "stands": say(name, stands[name]),
            "right": say(name, should),
        }
        for name, should in right.items()
        if stands[name] != should
    ]
    sentence = "; ".join(differing)
    return f"{sentence[0].upper()}{sentence[1:]}." if sentence else ""


def locked(lot: Lot) -> Lot:
    """The lot as it stands, held until the transaction ends."""
    # SQLite has no row locks and takes the whole database's write lock when a transaction opens.
    return (
        Lot.objects.select_for_update(of=("self",))
        .select_related("variety__group", "method", "direct_pot_size")
        .get(pk=lot.pk)
    )


def records_of(lot: Lot) -> list[Record]:
    """Its unvoided records."""
    return _records(Q(lot=lot, voided_at=None))


def records_of_or_numbered(lot: Lot, uuids: Iterable[UUID]) -> list[Record]:
    """All its records, voided ones too, and those of other lots that have one of these numbers."""
    return _records(Q(lot=lot) | Q(uuid__in=list(uuids)))


def _records(which: Q) -> list[Record]:
    # Put in order here: to ask for an order takes Django longer than to make it.
    return [
        entry
        for model in RECORDS.values()
        for entry in sorted(model.objects.filter(which).order_by(), key=attrgetter("pk"))
    ]
