"""What the book knows of lots, as plain facts: one tuple a lot, read in bulk.

`standing` reads what the ledger keeps with each lot; `as_of` adds the records up again to an
earlier day, with `lots.tally`.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from lots import tally
from lots.models import RECORDS, Cut, Lot, Move, Place, PotSize, Stage
from lots.models.lot import COUNTS, OBSERVED


class Facts(NamedTuple):
    """One lot. Names are those of `Lot`, where it has them."""

    pk: int
    code: str
    variety: int
    variety_code: str
    group: int
    method: int
    group_name: str
    method_name: str
    roots_like: str
    cut_like: str
    source_part: str
    session_day: date | None
    direct_pot_size: int | None
    medium: str
    hormone: str
    pieces_per_unit: int
    planned_units: int
    stuck_on: date | None
    stuck_units: int | None
    stage: str
    pot_size: int | None
    pot_cm: float | None
    cells: int
    cells_lost: int
    units_potted: int
    pots_made: int
    pots_growing: int
    pots_lost: int
    pots_finished: int
    pots_left: int
    struck_after: date | None
    struck_on: date | None
    finished_after: date | None
    finished_on: date | None
    potted_on: date | None
    seen_on: date | None
    tested_on: date | None
    tested: int
    held: int
    first_place: str | None
    grown_at: str | None
    plant: int | None

    # first_place: name of the place where it was stuck; grown_at: of the one where it grows on, of
    # a finished lot of the one where it stood half-way from striking to that. plant: key of the
    # stock plant that gave most of its pieces.

    @property
    def start(self) -> date | None:
        """The day its days are counted from."""
        return self.stuck_on or self.session_day

    @property
    def units(self) -> int:
        return self.stuck_units or self.planned_units

    @property
    def direct(self) -> bool:
        return self.direct_pot_size is not None


PATHS = {
    "variety_code": "variety__code",
    "group": "variety__group",
    "group_name": "variety__group__name",
    "method_name": "method__name",
    "roots_like": "variety__group__roots_like",
    "cut_like": "method__cut_like",
    "source_part": "method__source_part",
    "session_day": "session__day",
    "pot_cm": "pot_cm",
    "first_place": "first_place__name",
    "grown_at": "grown_at",
}
COLUMNS = [PATHS.get(name, name) for name in Facts._fields if name != "plant"]
GROWN_AT = Coalesce("pots_place__name", "place__name", "first_place__name")
POT_CM = Coalesce("direct_pot_size__diameter_cm", "pot_size__diameter_cm")


def standing(lots: QuerySet[Lot]) -> list[Facts]:
    """The facts of lots as the book stands."""
    rows = lots.annotate(pot_cm=POT_CM, grown_at=GROWN_AT).values_list(*COLUMNS)
    plants = main_plants(Cut.objects.filter(lot__in=lots.values("pk")))
    found = [Facts._make((*row, plants.get(row[0]))) for row in rows.iterator(2000)]
    return grown(found, Move.objects.filter(lot__in=lots.values("pk")))


def of(lots: Iterable[Lot], widths: dict[int, float] | None = None) -> list[Facts]:
    """The facts of lots in hand, saved or not; who has `pot_widths` gives them."""
    widths = pot_widths() if widths is None else widths
    lots = list(lots)
    places = place_names({pk for lot in lots for pk in _places(lot) if pk})
    pks = [lot.pk for lot in lots if lot.pk]
    plants = main_plants(Cut.objects.filter(lot__in=pks)) if pks else {}
    found = [_of(lot, widths, places, plants.get(lot.pk)) for lot in lots]
    return grown(found, Move.objects.filter(lot__in=pks))


def _places(lot: Lot) -> tuple[int | None, ...]:
    """Where it stands or stood, the place where it grows on before the others."""
    return lot.pots_place_id, lot.place_id, lot.first_place_id


def _of(lot: Lot, widths: dict[int, float], places: dict[int, str], plant: int | None) -> Facts:
    variety, method = lot.variety, lot.method
    where = next((pk for pk in _places(lot) if pk), None)
    return Facts(
        pk=lot.pk,
        code=lot.code,
        variety=lot.variety_id,
        variety_code=variety.code,
        group=variety.group_id,
        method=lot.method_id,
        group_name=variety.group.name,
        method_name=method.name,
        roots_like=variety.group.roots_like,
        cut_like=method.cut_like,
        source_part=method.source_part,
        session_day=lot.session.day if lot.session_id else None,
        direct_pot_size=lot.direct_pot_size_id,
        medium=lot.medium,
        hormone=lot.hormone,
        pieces_per_unit=lot.pieces_per_unit,
        planned_units=lot.planned_units,
        stuck_on=lot.stuck_on,
        stuck_units=lot.stuck_units,
        stage=lot.stage,
        pot_size=lot.pot_size_id,
        pot_cm=widths.get(lot.direct_pot_size_id or lot.pot_size_id),
        first_place=places.get(lot.first_place_id),
        grown_at=places.get(where),
        plant=plant,
        **{name: getattr(lot, name) for name in (*COUNTS, *OBSERVED)},
    )


def as_of(lots: QuerySet[Lot], day: date) -> list[Facts]:
    """The facts of lots by what had been seen up to a day; lots stuck after it are planned."""
    events, widths = _events(lots, day), pot_widths()
    places = place_names()
    numbers = {name: pk for pk, name in places.items()}
    then = []
    for found in standing(lots):
        if found.stuck_on is None:
            then.append(found)
        elif found.stuck_on > day:
            # Its session's day is what was planned; without one, nothing else is known.
            then.append(plan(found)._replace(session_day=found.session_day or found.stuck_on))
        else:
            first = numbers.get(found.first_place or "")
            counts = tally.replay(
                found.stuck_units or 0, direct=found.direct, events=events[found.pk], place=first
            )
            kept = {name: getattr(counts, name) for name in (*COUNTS, *OBSERVED)}
            width = widths.get(found.direct_pot_size or counts.pot_size)
            kept |= {"pot_size": counts.pot_size, "pot_cm": width}
            kept["grown_at"] = places.get(counts.pots_place or counts.place)
            then.append(found._replace(stage=tally.stage(counts), **kept))
    moves = Move.objects.filter(lot__in=lots.values("pk"), observed_at__lt=end_of(day))
    return grown(then, moves)


def grown(lots: list[Facts], moves: QuerySet[Move]) -> list[Facts]:
    """The same, with the place of finished lots where they grew: where finished pots are carried to
    is no place that made them."""
    if not any(lot.finished_on for lot in lots):
        return lots
    carried: dict[int, list[tuple[date, str]]] = defaultdict(list)
    zone = timezone.get_current_timezone()
    told = moves.filter(voided_at=None).exclude(what=Move.What.CELLS).order_by("observed_at", "pk")
    for lot, at, place in told.values_list("lot", "observed_at", "place__name").iterator(2000):
        carried[lot].append((at.astimezone(zone).date(), place))
    return [
        lot._replace(grown_at=_grown_at(lot, carried[lot.pk]))
        if lot.finished_on and lot.pk in carried
        else lot
        for lot in lots
    ]


def _grown_at(lot: Facts, carried: list[tuple[date, str]]) -> str | None:
    since = lot.struck_on or lot.stuck_on or lot.finished_on
    half_way = since + (lot.finished_on - since) / 2
    before = [place for day, place in carried if day <= half_way]
    return before[-1] if before else lot.first_place


def main_plants(cuts: QuerySet[Cut]) -> dict[int, int]:
    """Lot → the stock plant that gave most of its pieces."""
    # The last one stays.
    most_last = cuts.order_by(F("pieces").asc(nulls_first=True), "-order", "-pk")
    return dict(most_last.values_list("lot", "stock_plant"))


def place_names(pks: Iterable[int] | None = None) -> dict[int, str]:
    """Name of each place, or of some."""
    places = Place.objects.all() if pks is None else Place.objects.filter(pk__in=pks)
    return dict(places.order_by().values_list("pk", "name"))


def plan(facts: Facts) -> Facts:
    """The same lot before it was stuck."""
    return unseen(facts)._replace(stage=Stage.PLANNED, stuck_on=None, stuck_units=None)


def unseen(facts: Facts) -> Facts:
    """The same lot as it was stuck, with nothing recorded of it yet."""
    nothing = dict.fromkeys(COUNTS, 0) | dict.fromkeys(OBSERVED) | {"tested": 0, "held": 0}
    nothing |= {"stage": Stage.STUCK, "grown_at": facts.first_place}
    if facts.direct:
        nothing |= {"pots_made": facts.units, "pots_growing": facts.units}
    else:
        nothing |= {"cells": facts.units, "pot_size": None, "pot_cm": None}
    return facts._replace(**nothing)


def pot_widths() -> dict[int, float]:
    """Diameter in cm of each pot size."""
    return {pk: float(width) for pk, width in PotSize.objects.values_list("pk", "diameter_cm")}


def end_of(day: date) -> datetime:
    """The moment that a day ends."""
    return datetime.combine(day + timedelta(days=1), time(), timezone.get_current_timezone())


def _events(lots: Iterable[Lot], day: date) -> dict[int, list[tally.Event]]:
    zone = timezone.get_current_timezone()
    found: dict[int, list[tally.Event]] = defaultdict(list)
    for kind, model in RECORDS.items():
        told = model.counted()
        rows = model.objects.filter(
            lot__in=lots.values("pk"), voided_at=None, observed_at__lt=end_of(day)
        ).values_list("lot", "observed_at", *told)
        for lot, at, *values in rows.order_by("pk").iterator(2000):
            words = dict(zip(told, values, strict=True))
            found[lot].append(tally.Event(kind, at, at.astimezone(zone).date(), **words))
    return found
