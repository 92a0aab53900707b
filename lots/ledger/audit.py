"""The proof that the book keeps its own rules (`lots.ledger.rules`) over all lots and records: that
units are conserved, that a lot's counts are what its records add up to, and what no constraint can
hold of the catalogues.

Everything is read in order of lots and added up again with `lots.tally`, in streams: a handful
of queries and little memory, however large the book.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from heapq import merge
from itertools import groupby
from operator import itemgetter

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import tally
from lots.catalogue.disagreements import disagreements
from lots.ledger.refusals import CLOCK_SKEW, STANDS
from lots.ledger.rules import Rule
from lots.ledger.standing import STANDING, differences, names, nothing
from lots.models import RECORDS, Flat, Lot
from lots.models.lot import COUNTS, OBSERVED
from lots.models.triggers import missing_triggers
from lots.snapshot import snapshot

BATCH = 2000
# A rule that is broken, and a sentence.
type Said = tuple[Rule, str]
STUCK = ("stuck_on", "stuck_units", "direct_pot_size_id", "first_place_id", "flat_id")


@dataclass(frozen=True, slots=True)
class Breach:
    """A rule that the book breaks: of a lot, by its code, or of the whole book (None)."""

    lot: str | None
    rule: Rule
    says: str


@dataclass(slots=True)
class Findings:
    """How many lots and records were held against the rules, and what breaks them."""

    lots: int = 0
    records: int = 0
    faults: list[Breach] = field(default_factory=list)


def audit(using: str = "default") -> Findings:
    """Go through the whole book, as it stands at one moment."""
    found = Findings()
    for name in missing_triggers(using):
        says = _("The database's guard %(name)s is missing; run “manage.py migrate”.")
        found.faults.append(Breach(None, Rule.NEVER_EDITED, says % {"name": name}))
    with snapshot(using):
        found.faults += (Breach(lot, Rule.AGREES, says) for lot, says in disagreements(using))
        shown = names(using)
        places = {None, *shown["place_id"]}
        flats = {None, *Flat.objects.using(using).values_list("pk", flat=True)}
        groups = groupby(_records(using, found), key=itemgetter(0))
        owner, records = next(groups, (None, ()))
        for lot in _lots(using):
            while owner is not None and owner < lot["pk"]:
                _orphans(owner, records, found)
                owner, records = next(groups, (None, ()))
            own: Iterable = ()
            if owner == lot["pk"]:
                own = [event for _owner, event in records if event is not None]
                owner, records = next(groups, (None, ()))
            found.lots += 1
            found.faults += (Breach(lot["code"], *fault) for fault in _faults(lot, own, shown))
            stands = {lot["place_id"], lot["pots_place_id"], lot["first_place_id"]}
            if not stands <= places or lot["flat_id"] not in flats:
                says = _("It stands at a place or in a flat that is not in the book.")
                found.faults.append(Breach(lot["code"], Rule.ADDS_UP, says))
        while owner is not None:
            _orphans(owner, records, found)
            owner, records = next(groups, (None, ()))
    return found


def _lots(using: str) -> Iterator[dict]:
    fields = ("pk", "code", *STUCK, *STANDING)
    return Lot.objects.using(using).order_by("pk").values(*fields).iterator(BATCH)


def _records(using: str, found: Findings) -> Iterator[tuple[int, tally.Event | None]]:
    """All records by lot, each as its event; a voided one has none."""
    streams = [_stream(using, kind) for kind in RECORDS]
    for record in merge(*streams, key=itemgetter(0)):
        found.records += 1
        yield record


def _stream(using: str, kind: str) -> Iterator[tuple[int, tally.Event | None]]:
    zone = timezone.get_current_timezone()
    names = RECORDS[kind].counted()
    rows = (
        RECORDS[kind]
        .objects.using(using)
        .order_by("lot_id", "observed_at", "pk")
        .values_list("lot_id", "voided_at", "observed_at", *names)
    )
    for lot, voided_at, at, *values in rows.iterator(BATCH):
        if voided_at is None:
            told = dict(zip(names, values, strict=True))
            yield lot, tally.Event(kind, at, at.astimezone(zone).date(), **told)
        else:
            yield lot, None


def _orphans(owner: int, records: Iterable, found: Findings) -> None:
    count = sum(1 for _record in records)
    says = ngettext(
        "%(count)s record belongs to no lot (its number would be %(owner)s).",
        "%(count)s records belong to no lot (its number would be %(owner)s).",
        count,
    )
    found.faults.append(Breach(None, Rule.ADDS_UP, says % {"count": count, "owner": owner}))


def _faults(lot: dict, events: list[tally.Event], shown: dict) -> Iterator[Said]:
    """The rules that a lot breaks, each with a sentence."""
    if lot["stuck_on"] is None:
        yield from _faults_unstuck(lot, events, shown)
        return
    yield from _unconserved(lot)
    yield from _out_of_time(lot, events)
    if (direct := lot["direct_pot_size_id"] is not None) and any(
        event.kind == "potup" or event.stage == "cell" for event in events
    ):
        yield (
            Rule.CONSERVED,
            _("It was stuck straight into pots, and has a pot-up or a loss from cells."),
        )
        return
    try:
        counts = tally.replay(
            lot["stuck_units"], direct=direct, events=events, place=lot["first_place_id"]
        )
    except tally.Impossible as fault:
        yield (
            Rule.CONSERVED,
            _("The %(kind)s of %(day)s takes %(wants)s where %(has)s are %(what)s.")
            % {
                "kind": RECORDS[fault.event.kind]._meta.verbose_name,
                "day": date_format(fault.event.day),
                "wants": fault.wants,
                "has": fault.has,
                "what": STANDS[fault.what],
            },
        )
        return
    expected = {name: getattr(counts, name) for name in (*COUNTS, *OBSERVED)}
    expected |= {"stage": tally.stage(counts), "place_id": counts.place}
    expected |= {"pots_place_id": counts.pots_place, "pot_size_id": counts.pot_size}
    yield from _differences(lot, expected, shown)


def _faults_unstuck(lot: dict, events: list[tally.Event], shown: dict) -> Iterator[Said]:
    if events:
        says = ngettext(
            "It was never stuck, and has %(count)s record.",
            "It was never stuck, and has %(count)s records.",
            len(events),
        )
        yield Rule.ADDS_UP, says % {"count": len(events)}
    yield from _differences(lot, nothing(lot["stage"], lot["first_place_id"]), shown)


def _differences(lot: dict, expected: dict, shown: dict) -> Iterator[Said]:
    if says := differences(lot, expected, shown):
        yield Rule.ADDS_UP, says


def _unconserved(lot: dict) -> Iterator[Said]:
    if any(lot[name] < 0 for name in COUNTS):
        yield Rule.CONSERVED, _("A count is below nothing.")
    units = lot["cells"] + lot["cells_lost"] + lot["units_potted"]
    if lot["direct_pot_size_id"] is not None:
        units += lot["pots_made"]
    if units != lot["stuck_units"]:
        yield (
            Rule.CONSERVED,
            _("Units stuck: %(stuck)s; alive in cells, lost or potted up: %(units)s.")
            % {"stuck": lot["stuck_units"], "units": units},
        )
    pots = sum(lot[name] for name in ("pots_growing", "pots_lost", "pots_finished", "pots_left"))
    if pots != lot["pots_made"]:
        yield (
            Rule.CONSERVED,
            _("Pots made: %(made)s; growing, lost, finished or gone out: %(pots)s.")
            % {"made": lot["pots_made"], "pots": pots},
        )


def _out_of_time(lot: dict, events: list[tally.Event]) -> Iterator[Said]:
    latest: datetime = timezone.now() + CLOCK_SKEW
    for event in events:
        if event.day < lot["stuck_on"] or event.at > latest:
            says = (
                _("It was stuck on %(stuck_on)s, and has a %(kind)s of %(day)s.")
                if event.day < lot["stuck_on"]
                else _("It has a %(kind)s of %(day)s, which has not come yet.")
            )
            yield (
                Rule.IN_TIME,
                says
                % {
                    "stuck_on": date_format(lot["stuck_on"]),
                    "kind": RECORDS[event.kind]._meta.verbose_name,
                    "day": date_format(event.day),
                },
            )
