"""What is to be done: the reads behind Today and the pages by week.

Each is a handful of queries over indexes that hold only what stands open, so that a page costs
the same in a book of a thousand lots and of fifty thousand.
"""

from datetime import date, datetime, time

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from lots.models import RECORDS, Lot, Record, Refusal, Stage, StickingSession


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


def logged(today: date, most: int) -> list[Record]:
    """The newest records that reached the book today, voided ones too."""
    midnight = timezone.make_aware(datetime.combine(today, time()))
    records: list[Record] = []
    for model in RECORDS.values():
        records.extend(
            model.objects.filter(recorded_at__gte=midnight)
            .select_related("by", "lot__variety", *model.named())
            .order_by("-recorded_at")[:most]
        )
    return sorted(records, key=lambda entry: entry.recorded_at, reverse=True)[:most]
