"""Whether the records of each lot add up, those of the book and those of the files together."""

from collections import defaultdict
from collections.abc import Iterable
from itertools import batched

from django.utils import timezone

from lots import tally
from lots.csvbook.checking import BATCH, Findings
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.csvbook.table import Table
from lots.ledger.load import unvoided
from lots.ledger.refusals import Refused, check_belongs, why_impossible
from lots.models import RECORDS, Lot, Record, Stage

type Entries = list[tuple[Table, object]]

# Where a lot goes doesn't matter to its sums, and place or pot size may not be in the database
# yet.
COUNTED = {
    kind: [name for name in model.counted() if name not in model.named()]
    for kind, model in RECORDS.items()
}
NEEDED = {kind: {"observed_at", "voided_why", *told} for kind, told in COUNTED.items()}
SOME_SIZE = -1  # stands for the pot size of a lot that isn't in the database yet


def by_lot(found: Findings) -> dict[str, Entries]:
    """The new records of each lot: kind by kind, and in the order of the files."""
    records: dict[str, Entries] = defaultdict(list)
    for table in TABLES.values():
        if table.record:
            for row in found.new[table.name]:
                if row.lot is not None:
                    records[row.lot].append((table, row))
    return records


def check_sums(found: Findings, records: dict[str, Entries], faults: Faults) -> None:
    """Each record that its lot can't have, or that takes more than there is, is a fault."""
    new = {row.code: row for row in found.new["lots"]}
    for code, entries in records.items():
        if code in new and _adds_up(new[code]):
            _check_lot(_draft_of_lot(new[code]), (), entries, faults)
    for some in batched((code for code in records if code not in new), BATCH):
        lots = Lot.objects.filter(code__in=some)
        standing = unvoided(lots)
        for lot in lots:
            _check_lot(lot, standing[lot.pk], records[lot.code], faults)


def _adds_up(row) -> bool:
    """Whether a new lot says what its records are added up from. If not, that is told already."""
    if row.broken & {"stuck_on", "stuck_units", "direct_pot_size"}:
        return False
    return row.stuck_on is None or bool(row.stuck_units)


def _check_lot(lot: Lot, standing: Iterable[Record], entries: Entries, faults: Faults) -> None:
    events = [entry.event() for entry in standing]
    rows = {}
    complete = True
    for table, row in entries:
        if row.voided_why:
            continue
        if row.broken & NEEDED[table.record]:
            complete = False
            continue
        event = _event(table.record, row)
        try:
            check_belongs(lot, event)
        except Refused as fault:
            faults.add(row.file, row.number, fault.field, fault)
            continue
        events.append(event)
        rows[id(event)] = row
    if not rows or not complete:  # what is missing would make faults of what is right
        return
    while True:
        try:
            tally.replay(lot.stuck_units, direct=lot.direct, events=events, place=None)
        except tally.Impossible as fault:
            wrong = fault.event
            row = rows.get(id(wrong))
            says, field = why_impossible(lot, fault, asked=row is not None)
            told = row or _last_before(wrong, events, rows)
            faults.add(told.file, told.number, field, says)
            if row is None or wrong.kind != "check":
                return
            # A check takes nothing away: what comes after it can be told all the same.
            events = [event for event in events if event is not wrong]
        else:
            return


def _last_before(event: tally.Event, events: list[tally.Event], rows: dict[int, object]):
    """The new row that comes last before a record of the book which no longer fits."""
    new = [other for other in tally.in_order(events) if id(other) in rows]
    before = [other for other in new if other.at <= event.at]
    return rows[id((before or new)[-1])]


def _event(kind: str, row) -> tally.Event:
    told = {name: getattr(row, name) for name in COUNTED[kind]}
    return tally.Event(kind, row.observed_at, timezone.localtime(row.observed_at).date(), **told)


def _draft_of_lot(row) -> Lot:
    """As much of a lot as its sums need."""
    return Lot(
        code=row.code,
        stuck_on=row.stuck_on,
        stuck_units=row.stuck_units,
        direct_pot_size_id=SOME_SIZE if row.direct_pot_size else None,
        stage=Stage.NOT_STUCK if row.stuck_units == 0 else Stage.PLANNED,
    )
