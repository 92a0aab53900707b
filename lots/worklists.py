"""What is to be done: the reads behind Today and the pages by week.

Each is a handful of queries over indexes that hold only what stands open, so that a page costs
the same in a book of a thousand lots and of fifty thousand.
"""

from datetime import date, datetime, time
from itertools import groupby

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from lots.models import (
    RECORDS,
    Correction,
    Lot,
    PotSize,
    PotUp,
    Record,
    Refusal,
    Stage,
    StickingSession,
)
from lots.models.records import SHOWN_WITH


def is_late(today: date | None = None) -> Q:
    """Past the day by which nine in ten of its kind have struck or finished."""
    return Q(late_after__lt=today or timezone.localdate())


def late(today: date | None = None) -> QuerySet[Lot]:
    """Late lots, the longest first."""
    return (
        Lot.objects.filter(is_late(today))
        .select_related("variety", "method", "place", "pots_place")
        .order_by("late_after", "code")
    )


def losing() -> QuerySet[Lot]:
    """Lots that lost more than their kind usually does."""
    return (
        Lot.objects.filter(heavy_losses=True)
        .select_related("variety", "method", "place", "pots_place")
        .order_by("-stuck_on", "code")
    )


def open_sessions() -> QuerySet[StickingSession]:
    """Sessions with lots that are still planned."""
    return (
        StickingSession.objects.filter(lots__stage=Stage.PLANNED)
        .annotate(planned=Count("lots"))
        .select_related("led_by")
        .order_by("day", "pk")
    )


def open_refusals() -> QuerySet[Refusal]:
    """Records that the book could not take and nobody has settled yet."""
    return Refusal.objects.filter(settled_at__isnull=True).select_related("by")


def history(lot: Lot) -> list[Record]:
    """All records of a lot, voided ones too, newest first."""
    records: list[Record] = []
    for kind, model in RECORDS.items():
        records.extend(
            model.objects.filter(lot=lot).select_related(
                "by", "voided_by", *SHOWN_WITH.get(kind, [])
            )
        )
    return sorted(records, key=lambda entry: (entry.observed_at, entry.recorded_at), reverse=True)


def corrections(lot: Lot) -> list[list[Correction]]:
    """What was put right of a lot, newest first; what was saved together in one list."""
    rows = lot.corrections.select_related("by").order_by("-at", "pk")
    return [list(together) for _at, together in groupby(rows, key=lambda row: row.at)]


def logged(today: date, most: int) -> list[Record]:
    """The newest records that reached the book today, voided ones too."""
    midnight = timezone.make_aware(datetime.combine(today, time()))
    records: list[Record] = []
    for kind, model in RECORDS.items():
        records.extend(
            model.objects.filter(recorded_at__gte=midnight)
            .select_related("by", "lot__variety", *SHOWN_WITH.get(kind, []))
            .order_by("-recorded_at")[:most]
        )
    return sorted(records, key=lambda entry: entry.recorded_at, reverse=True)[:most]


def flatmates(lot: Lot) -> list[Lot]:
    """Other lots with cells in the flat in which this one has some."""
    return [mate for mate in _in_flat(lot) if mate.pk != lot.pk]


def carried_along(lot: Lot) -> tuple[list[Lot], list[Lot]]:
    """The flatmates that go along when the flat is carried, since they stand where this lot's
    cells do as far as the book knows; and those that stand elsewhere."""
    # From one reading, so that a flat that is just being carried is found in one piece.
    flat = _in_flat(lot)
    here = {one.place_id for one in flat if one.pk == lot.pk}
    mates = [one for one in flat if one.pk != lot.pk]
    along = [one for one in mates if None in here or one.place_id in {None, *here}]
    return along, [one for one in mates if one not in along]


def _in_flat(lot: Lot) -> list[Lot]:
    if not (lot.flat_id and lot.cells):
        return []
    lots = Lot.objects.filter(flat=lot.flat_id, cells__gt=0)
    return list(lots.select_related("variety", "place").order_by("code"))


def likely_size(lot: Lot) -> PotSize | None:
    """The pot size that a lot goes into, as far as the book tells: its own, or the last that its
    variety went into; the only one of the book, where there is no other."""
    if lot.pot_size:
        return lot.pot_size
    of_variety = PotUp.objects.filter(lot__variety=lot.variety_id, voided_at=None)
    last = of_variety.select_related("pot_size").order_by("-observed_at").first()
    if last:
        return last.pot_size
    sizes = list(PotSize.objects.all()[:2])
    return sizes[0] if len(sizes) == 1 else None
