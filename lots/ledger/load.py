"""The ledger's doors for whole books: imports and the demo nursery. The same arithmetic and the
same constraints as for one record, written in bulk."""

from collections.abc import Iterable
from itertools import batched

from django.db import transaction

from lots import outlook
from lots.ledger.standing import FIELDS_OF_STANDING, apply_records
from lots.models import RECORDS, Forecast, Lot, Record, ToCome

BATCH = 1000


@transaction.atomic
def load(book: Iterable[tuple[Lot, list[Record]]]) -> None:
    """Write new lots, each with all its records, voided ones included.

    The lots have codes of their own and everything of their sticking set; a planned or
    never-stuck lot has no unvoided records. Raises tally.Impossible, whose event is of the first
    lot that doesn't add up; then nothing is written.
    """
    for batch in batched(_standing(book), BATCH):
        lots = [lot for lot, _ in batch]
        forecasts, to_come = outlook.expect(lots)
        Lot.objects.bulk_create(lots)
        _write_records(batch)
        Forecast.objects.bulk_create(forecasts, batch_size=BATCH)
        ToCome.objects.bulk_create(to_come, batch_size=BATCH)
    outlook.mark_changed()


@transaction.atomic
def add(book: Iterable[tuple[str, list[Record]]]) -> None:
    """Write more records of lots that are in the book, each lot by its code, voided ones
    included. Raises tally.Impossible; then nothing is written.

    The lots come in the order of their keys, in which all that lock several do: whoever logs on
    them meanwhile waits, and can't be waited for.
    """
    for batch in batched(book, BATCH):
        lots = {
            lot.code: lot
            for lot in Lot.objects.select_for_update(of=("self",))
            .select_related("variety__group", "method", "direct_pot_size", "session")
            .filter(code__in=[code for code, _ in batch])
            .order_by("pk")
        }
        standing = unvoided(lots.values())
        for code, entries in batch:
            lot = lots[code]
            if lot.is_stuck:
                fresh = [entry for entry in entries if not entry.is_voided]
                apply_records(lot, [*standing[lot.pk], *fresh])
                lot.save(update_fields=FIELDS_OF_STANDING)
        _write_records([(lots[code], entries) for code, entries in batch])
        outlook.renew([lot for lot in lots.values() if lot.is_stuck])


def unvoided(lots: Iterable[Lot]) -> dict[int, list[Record]]:
    """The unvoided records of lots, by the lot's primary key, in the order of entry."""
    found: dict[int, list[Record]] = {lot.pk: [] for lot in lots}
    for model in RECORDS.values():
        for entry in model.objects.filter(lot__in=list(found), voided_at=None).order_by("pk"):
            found[entry.lot_id].append(entry)
    return found


def _standing(book: Iterable[tuple[Lot, list[Record]]]) -> Iterable[tuple[Lot, list[Record]]]:
    for lot, records in book:
        if lot.is_stuck:
            apply_records(lot, [entry for entry in records if not entry.is_voided])
        else:
            lot.place_id = lot.first_place_id
        yield lot, records


def _write_records(batch: Iterable[tuple[Lot, list[Record]]]) -> None:
    by_kind: dict[str, list[Record]] = {kind: [] for kind in RECORDS}
    for lot, records in batch:
        for entry in records:
            entry.lot_id = lot.pk
            by_kind[entry.KIND].append(entry)
    for kind, entries in by_kind.items():
        RECORDS[kind].objects.bulk_create(entries, batch_size=BATCH)
