"""What happened to a lot: its records, and what was put right of it."""

from itertools import groupby

from lots.models import RECORDS, Correction, Lot, Record


def history(lot: Lot) -> list[Record]:
    """All records of a lot, voided ones too, newest first."""
    records: list[Record] = []
    for model in RECORDS.values():
        records.extend(
            model.objects.filter(lot=lot).select_related("by", "voided_by", *model.named())
        )
    return sorted(records, key=lambda entry: (entry.observed_at, entry.recorded_at), reverse=True)


def corrections(lot: Lot) -> list[list[Correction]]:
    """What was put right of a lot, newest first; what was saved together in one list."""
    rows = lot.corrections.select_related("by").order_by("-at", "pk")
    return [list(together) for _at, together in groupby(rows, key=lambda row: row.at)]
