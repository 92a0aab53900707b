"""New rows into the book: the catalogue in bulk, lots and their records through the ledger."""

from collections import Counter
from collections.abc import Callable, Iterator

from django.db.models import Max
from django.utils import timezone

from lots import ledger
from lots.csvbook.adding_up import Entries
from lots.csvbook.checking import Findings
from lots.csvbook.columns import TABLES
from lots.csvbook.table import NAMED_BY, Table
from lots.forecast import handbook
from lots.models import Arm, Flat, Lot, Record, Stage, StickingSession

type Things = dict[str, dict[str, object]]

BEFORE_LOTS = [
    *("crops", "methods", "potsizes", "places", "people", "varieties", "sessions"),
    *("trials", "arms"),
]
BATCH = 1000


def write(found: Findings, records: dict[str, Entries], progress: Callable[[int], None]) -> None:
    """Write all new rows, inside the caller's transaction. `progress` is told the number of
    lots so far. Raises tally.Impossible and IntegrityError."""
    things: Things = {}
    for name in BEFORE_LOTS:
        _create(TABLES[name], found.new[name], things)
        if name in NAMED_BY:
            things[name] = _all_by_name(TABLES[name])
    things["varieties"] = {
        variety.code: variety
        for variety in TABLES["varieties"].model.objects.select_related("group")
    }
    things["flats"] = _flats(found.new["lots"])
    things["triallots"] = _arms(found.new["triallots"])
    ledger.load(_lots(found.new["lots"], records, things, progress))
    new = {row.code for row in found.new["lots"]}
    known = sorted(records.keys() - new, key=dict(Lot.objects.values_list("code", "pk")).get)
    ledger.add(
        (code, [_record(table, row, things) for table, row in records[code]]) for code in known
    )
    for code, arm in things["triallots"].items():
        if code not in new:
            Lot.objects.filter(code=code).update(arm=arm)
    if any(found.new[name] for name in ("stockplants", "cuts", "corrections")):
        things["lots"] = {lot.code: lot for lot in Lot.objects.only("code")}
    for name, table in TABLES.items():
        if name not in (*BEFORE_LOTS, "lots", "triallots") and not table.record:
            _create(table, found.new[name], things)
            if name in NAMED_BY:
                things[name] = _all_by_name(table)


def _create(table: Table, rows: list, things: Things) -> None:
    made = [table.model(**_fields(table, row, things)) for row in rows]
    for row, thing in zip(rows, made, strict=True):  # files of before know no handbook
        if table.name == "crops" and row.roots_like is None:
            thing.roots_like = handbook.propose_kind(thing.name)
        elif table.name == "methods" and row.cut_like is None:
            thing.cut_like = handbook.propose_method(thing.name)
    if table.name == "people":  # nobody can sign in until a manager gives a password
        for person in made:
            person.set_unusable_password()
    table.model._base_manager.bulk_create(made, batch_size=BATCH)


def _all_by_name(table: Table) -> dict[str, object]:
    name = NAMED_BY[table.name]
    return {getattr(thing, name): thing for thing in table.rows}


def _fields(table: Table, row, things: Things) -> dict[str, object]:
    """The model's fields of a row, with the things that it names; without what a column that
    came later doesn't say, which is then as the model has it."""
    fields = {}
    for column in table.columns:
        value = getattr(row, column.field)
        if column.later and value is None:
            continue
        if column.to and column.to in things and value is not None:
            value = things[column.to][value]
        fields[column.field] = value
    return fields


def _flats(lots: list) -> dict[str, Flat]:
    """The flats that lots stand in; those that the book doesn't have are made."""
    wanted = dict.fromkeys(row.flat for row in lots if row.flat)
    known = set(Flat.objects.values_list("code", flat=True))
    Flat.objects.bulk_create(Flat(code=code) for code in wanted if code not in known)
    return {flat.code: flat for flat in Flat.objects.all()}


def _arms(rows: list) -> dict[str, Arm]:
    """The arm of a trial that each lot stands in, by the lot's code."""
    arms = {(arm.trial.code, arm.letter): arm for arm in Arm.objects.select_related("trial")}
    return {row.lot: arms[row.trial, row.arm] for row in rows}


def _lots(
    rows: list, records: dict[str, Entries], things: Things, progress: Callable[[int], None]
) -> Iterator[tuple[Lot, list[Record]]]:
    """New lots with their records. The lines of a session are counted on in the files' order."""
    lines = Counter(
        dict(
            StickingSession.objects.filter(lots__isnull=False)
            .annotate(last=Max("lots__line"))
            .values_list("code", "last")
        )
    )
    for number, row in enumerate(rows, start=1):
        fields = _fields(TABLES["lots"], row, things)
        fields["flat"] = things["flats"].get(row.flat)
        if row.session:
            lines[row.session] += 1
            fields["line"] = lines[row.session]
        if row.stuck_units == 0:
            fields |= {"stuck_units": None, "stage": Stage.NOT_STUCK}
        fields["arm"] = things["triallots"].get(row.code)
        entries = [_record(table, entry, things) for table, entry in records.get(row.code, ())]
        yield Lot(**fields), entries
        if number % BATCH == 0:
            progress(number)


def _record(table: Table, row, things: Things) -> Record:
    """A record, without its lot. A voided one was voided by whoever wrote it, and now, if the
    files say no more."""
    fields = _fields(table, row, things)
    del fields["lot"]
    if row.voided_why:
        fields = {"voided_by": fields["by"], "voided_at": timezone.now()} | fields
    return table.model(**fields)
