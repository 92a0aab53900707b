"""What the book knows of lots, as plain facts: one tuple a lot, read in bulk.

`standing` reads what the ledger keeps with each lot; `as_of` adds the records up again to an
earlier day, with `lots.tally`.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from django.db.models import QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from lots import tally
from lots.models import RECORDS, Lot, PotSize, Stage
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
}
COLUMNS = [PATHS.get(name, name) for name in Facts._fields]
POT_CM = Coalesce("direct_pot_size__diameter_cm", "pot_size__diameter_cm")


def standing(lots: QuerySet[Lot]) -> list[Facts]:
    """The facts of lots as the book stands."""
    rows = lots.annotate(pot_cm=POT_CM).values_list(*COLUMNS)
    return [Facts._make(row) for row in rows.iterator(2000)]


def of(lots: Iterable[Lot], widths: dict[int, float] | None = None) -> list[Facts]:
    """The facts of lots in hand, saved or not; who has `pot_widths` gives them."""
    widths = pot_widths() if widths is None else widths
    return [_of(lot, widths) for lot in lots]


def _of(lot: Lot, widths: dict[int, float]) -> Facts:
    variety, method = lot.variety, lot.method
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
        planned_units=lot.planned_units,
        stuck_on=lot.stuck_on,
        stuck_units=lot.stuck_units,
        stage=lot.stage,
        pot_size=lot.pot_size_id,
        pot_cm=widths.get(lot.direct_pot_size_id or lot.pot_size_id),
        **{name: getattr(lot, name) for name in (*COUNTS, *OBSERVED)},
    )


def as_of(lots: QuerySet[Lot], day: date) -> Iterator[Facts]:
    """The facts of lots by what had been seen up to a day; lots stuck after it are planned."""
    events, widths = _events(lots, day), pot_widths()
    for found in standing(lots):
        if found.stuck_on is None:
            yield found
        elif found.stuck_on > day:
            # Its session's day is what was planned; without one, nothing else is known.
            yield plan(found)._replace(session_day=found.session_day or found.stuck_on)
        else:
            counts = tally.replay(
                found.stuck_units or 0, direct=found.direct, events=events[found.pk], place=None
            )
            kept = {name: getattr(counts, name) for name in (*COUNTS, *OBSERVED)}
            width = widths.get(found.direct_pot_size or counts.pot_size)
            kept |= {"pot_size": counts.pot_size, "pot_cm": width}
            yield found._replace(stage=tally.stage(counts), **kept)


def plan(facts: Facts) -> Facts:
    """The same lot before it was stuck."""
    return unseen(facts)._replace(stage=Stage.PLANNED, stuck_on=None, stuck_units=None)


def unseen(facts: Facts) -> Facts:
    """The same lot as it was stuck, with nothing recorded of it yet."""
    nothing = dict.fromkeys(COUNTS, 0) | dict.fromkeys(OBSERVED) | {"tested": 0, "held": 0}
    nothing["stage"] = Stage.STUCK
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
