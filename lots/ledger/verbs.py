"""The verbs of the ledger. Each is one transaction: it locks the lot, works out with `lots.tally`
what the book would say afterwards, and writes everything or raises `Refused`."""

from collections.abc import Iterable
from datetime import date, datetime, time
from uuid import UUID, uuid4

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import codes, outlook, tally
from lots.ledger.corrections import told, write_down
from lots.ledger.refusals import (
    VOIDING,
    Refused,
    check_entry,
    check_may_be_stuck,
    check_size,
    why_impossible,
)
from lots.ledger.standing import (
    FIELDS_OF_STANDING,
    apply_records,
    locked,
    records_of,
    records_of_or_numbered,
)
from lots.models import RECORDS, Cut, Lot, Record, Stage, StockPlant
from lots.models.lot import COUNTS

FIELDS_OF_STICKING = [
    "flat",
    "first_place",
    "stuck_on",
    "stuck_units",
    "stuck_by",
    "confirmed_by",
    "direct_pot_size",
]


def new_code() -> str:
    """A code that neither a lot nor a stock plant has: both are found under `/T/`."""
    code = codes.new_code()
    while Lot.objects.filter(code=code).exists() or StockPlant.read_as(code):
        code = codes.new_code()
    return code


@transaction.atomic
def plan(lot: Lot, cuts: Iterable[Cut] = ()) -> Lot:
    """Put a planned lot into the book, with a code of its own, and the cuts it is to be made of."""
    check_size(lot.planned_units, lot.pieces_per_unit)
    check_may_be_stuck(lot, cuts)
    lot.code = lot.code or new_code()
    lot.place, lot.pots_place = lot.first_place, None
    lot.save()
    for cut in cuts:
        cut.lot = lot
        cut.save()
    outlook.renew([lot])
    return lot


@transaction.atomic
def replan(lot: Lot, cuts: Iterable[Cut]) -> Lot:
    """Change a planned lot and its cuts; its code stays, since its tag may be printed."""
    cuts = list(cuts)
    standing = locked(lot)
    if standing.is_stuck:
        raise Refused(
            _("%(lot)s was stuck on %(day)s; a plan can be changed only before that.")
            % {"lot": standing, "day": date_format(standing.stuck_on)}
        )
    check_size(lot.planned_units, lot.pieces_per_unit)
    check_may_be_stuck(lot, cuts)
    lot.place, lot.pots_place = lot.first_place, None
    lot.save()
    lot.cuts.all().delete()
    for cut in cuts:
        cut.pk, cut.lot = None, lot
        cut.save()
    outlook.renew([lot])
    return lot


@transaction.atomic
def stick(
    lot: Lot, *, units: int, on: date, by, flat=None, place=None, confirmed_by=None, why: str = ""
) -> Lot:
    """Write down what was really stuck, by whom, and who says so (they themselves, if nobody else
    is named). Said again, it corrects the first saying, as long as the lot's records still fit;
    what was said before is kept, with the reason if there is one."""
    lot = locked(lot)
    before = told(lot) if lot.is_stuck else None
    check_size(units)
    if on > timezone.localdate():
        raise Refused(_("A lot can't be stuck on a day that has not come yet."), "on")
    if not lot.is_stuck:  # what was stuck can be counted again, whatever became of its plants
        check_may_be_stuck(lot, lot.cuts.select_related("stock_plant"))
    lot.stuck_units, lot.stuck_on, lot.stuck_by = units, on, by
    lot.flat, lot.first_place = flat, place
    lot.confirmed_by = confirmed_by or by
    records = records_of(lot)
    early = min((record.observed_at for record in records), default=None)
    if early and timezone.localtime(early).date() < on:
        raise Refused(
            _("%(lot)s has a record of %(day)s; it can't have been stuck after that.")
            % {"lot": lot, "day": date_format(timezone.localtime(early).date())},
            "on",
        )
    try:
        apply_records(lot, records)
    except tally.Impossible as fault:
        raise Refused(
            ngettext(
                "%(lot)s has records of more than %(units)s unit; look at them first.",
                "%(lot)s has records of more than %(units)s units; look at them first.",
                units,
            )
            % {"lot": lot, "units": units},
            "units",
        ) from fault
    lot.save(update_fields=[*FIELDS_OF_STICKING, *FIELDS_OF_STANDING])
    if before is None:
        outlook.freeze([lot])
        outlook.renew([lot])
    else:
        write_down(lot, before, by=lot.confirmed_by, why=why)
    return lot


@transaction.atomic
def not_stuck(lot: Lot, *, by=None) -> Lot:
    """The planned lot was not stuck: its tag is void. Sticking it after all undoes this. If it was
    said to be stuck, that is kept as a correction, by whoever says so now."""
    lot = locked(lot)
    before = told(lot) if lot.is_stuck else None
    if records_of(lot):
        raise Refused(_("%(lot)s has records, so it was stuck; void them first.") % {"lot": lot})
    by = by or lot.confirmed_by
    lot.stuck_on = lot.stuck_units = lot.stuck_by = lot.confirmed_by = None
    for name in COUNTS:
        setattr(lot, name, 0)
    lot.stage = Stage.NOT_STUCK
    lot.save(update_fields=[*FIELDS_OF_STICKING, *FIELDS_OF_STANDING])
    outlook.forget(lot)
    if before is not None and by is not None:
        write_down(lot, before, by=by, why="")
    return lot


@transaction.atomic
def record(
    lot: Lot, entries: Iterable[Record], *, renewing: bool = True
) -> list[tuple[Record, bool]]:
    """Write records of one lot, all or none; returns each with whether it is new. Who writes many
    lots in one transaction renews their forecasts together, and says so by `renewing`.

    The entries are unsaved instances with `observed_at`, `by` and their own fields set. One
    whose `uuid` stands in the book already is answered with the one that stands there.
    Raises Refused.
    """
    lot, entries = locked(lot), list(entries)
    known = records_of_or_numbered(lot, (entry.uuid for entry in entries))
    by_number = {one.uuid: one for one in known}
    answers: list[tuple[Record, bool]] = []
    fresh: list[Record] = []
    for entry in entries:
        entry.lot = lot
        twin = by_number.get(entry.uuid)
        if twin is None:
            check_entry(lot, entry)
            fresh.append(entry)
        elif twin.lot_id != lot.pk:
            raise Refused(_("This record was sent before for another lot."))
        elif twin.KIND != entry.KIND:
            raise Refused(_("This record was sent before as something else."))
        answers.append((twin or entry, twin is None))
    if fresh:
        old = [one for one in known if one.lot_id == lot.pk and not one.is_voided]
        _apply_or_refuse(lot, [*old, *fresh], fresh)
        try:
            with transaction.atomic():
                for entry in fresh:
                    entry.save(force_insert=True)
        except IntegrityError as fault:
            raise Refused(_("This record was sent before for another lot.")) from fault
        lot.save(update_fields=FIELDS_OF_STANDING)
        if renewing:
            outlook.renew([lot])
    return answers


@transaction.atomic
def record_together(
    pairs: Iterable[tuple[Lot, list[Record]]], action: UUID | None = None
) -> list[tuple[Record, bool]]:
    """Write what one action says of one lot or several, all or none: a flat that is carried
    elsewhere, say. If it is several records, they are marked as one action; `action` is one that
    others belong to as well."""
    answers: dict[int, list[tuple[Record, bool]]] = {}
    pairs = list(pairs)
    together = [entry for _lot, entries in pairs for entry in entries]
    if len(together) > 1:
        action = action or uuid4()
    for entry in together:
        entry.action = action
    # Always in the same order of lots, so that two phones can't lock each other out.
    for lot, entries in sorted(pairs, key=lambda pair: pair[0].pk):
        answers[lot.pk] = record(lot, entries)
    return [answer for lot, _entries in pairs for answer in answers[lot.pk]]


@transaction.atomic
def void(entry: Record, *, by, why: str) -> Record:
    """Void a record, with the reason; voiding it twice changes nothing. Raises Refused."""
    _void([entry], by=by, why=why)
    return type(entry).objects.get(pk=entry.pk)


@transaction.atomic
def void_action(entry: Record, *, by, why: str) -> list[Record]:
    """Void all that one action wrote and that still counts, of whichever lots: all or none, and
    for one reason. Returns what is voided by it. Raises Refused."""
    return _void(written_with(entry), by=by, why=why)


def written_with(entry: Record) -> list[Record]:
    """The unvoided records of the action that wrote this one, itself among them, with what a
    page says of them."""
    if entry.action is None:
        return [] if entry.is_voided else [entry]
    return [
        record
        for model in RECORDS.values()
        for record in model.objects.filter(action=entry.action, voided_at=None)
        .select_related("lot__variety", "by", *model.named())
        .order_by("pk")
    ]


def _void(entries: list[Record], *, by, why: str) -> list[Record]:
    if not why.strip():
        raise Refused(_("Say in a few words why this record is voided."), "why")
    voided: list[Record] = []
    lots = {entry.lot_id: entry.lot for entry in entries}
    for pk in sorted(lots):  # as in `record_together`
        lot = locked(lots[pk])
        going = {entry.uuid for entry in entries if entry.lot_id == pk}
        standing = records_of(lot)
        gone = [entry for entry in standing if entry.uuid in going]
        if not gone:
            continue
        try:
            _apply_or_refuse(lot, [entry for entry in standing if entry.uuid not in going], [])
        except Refused as refusal:
            if len(lots) == 1:
                raise
            raise Refused(f"{lot}: {refusal}", refusal.field) from refusal
        for entry in gone:
            entry.voided_at, entry.voided_by, entry.voided_why = timezone.now(), by, why.strip()
            entry.save(update_fields=VOIDING)
        lot.save(update_fields=FIELDS_OF_STANDING)
        outlook.renew([lot])
        voided += gone
    return voided


def _apply_or_refuse(lot: Lot, records: list[Record], fresh: list[Record]) -> None:
    events = {id(entry): entry.event() for entry in records}
    try:
        apply_records(lot, records)
    except tally.Impossible as fault:
        asked = any(events[id(entry)] == fault.event for entry in fresh)
        raise Refused(*why_impossible(lot, fault, asked=asked)) from fault


def moment_of(day: date) -> datetime:
    """The moment that stands for a day in the past: noon, or now if the day is today."""
    if day == timezone.localdate():
        return timezone.now()
    return timezone.make_aware(datetime.combine(day, time(12)))
