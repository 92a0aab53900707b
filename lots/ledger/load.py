"""The ledger's door for whole books: imports and the demo nursery. The same arithmetic and the
same constraints as for one record, written in bulk."""

from collections.abc import Iterable

from django.db import transaction

from lots import outlook
from lots.ledger.standing import stand
from lots.models import RECORDS, Forecast, Lot, Record

BATCH = 1000


@transaction.atomic
def load(book: Iterable[tuple[Lot, list[Record]]]) -> None:
    """Write new lots, each with all its records, voided ones included.

    The lots have codes of their own and everything of their sticking set; a planned or
    never-stuck lot has no records. Raises tally.Impossible, whose event is of the first lot
    that doesn't add up; then nothing is written.
    """
    batch: list[tuple[Lot, list[Record]]] = []
    for lot, records in book:
        if lot.is_stuck:
            stand(lot, [entry for entry in records if not entry.is_voided])
        else:
            lot.place_id = lot.first_place_id
        batch.append((lot, records))
        if len(batch) == BATCH:
            _write(batch)
            batch = []
    _write(batch)


def _write(batch: list[tuple[Lot, list[Record]]]) -> None:
    Lot.objects.bulk_create([lot for lot, _ in batch])
    by_kind: dict[str, list[Record]] = {kind: [] for kind in RECORDS}
    forecasts: list[Forecast] = []
    for lot, records in batch:
        for entry in records:
            entry.lot_id = lot.pk
            by_kind[entry.KIND].append(entry)
        forecasts.extend(outlook.forecasts(lot))
    for kind, entries in by_kind.items():
        RECORDS[kind].objects.bulk_create(entries, batch_size=BATCH)
    Forecast.objects.bulk_create(forecasts, batch_size=BATCH)
