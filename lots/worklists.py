"""What is to be done: the reads behind Today, the round and the pages by week.

Each is a handful of queries over indexes that hold only what stands open, so that a page costs
the same in a book of a thousand lots and of fifty thousand.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby

from django.db.models import Case, Count, F, Q, QuerySet, Sum, When
from django.utils import timezone

from lots.models import (
    RECORDS,
    Forecast,
    Lot,
    Place,
    Record,
    Refusal,
    Stage,
    StickingSession,
    Target,
)

# What a record of a kind names besides its own numbers.
SHOWN_WITH = {"move": ["place"], "potup": ["pot_size"], "finish": ["pot_size"]}

IN_WALKING_ORDER = [
    F("place__walk_order").asc(nulls_last=True),
    F("place__name").asc(nulls_last=True),
    "code",
]


def looks_due(today: date | None = None) -> QuerySet[Lot]:
    """Lots that somebody should look at by today, in walking order."""
    return (
        Lot.objects.filter(look_on__lte=today or timezone.localdate())
        .select_related("variety", "method", "place", "flat")
        .order_by(*IN_WALKING_ORDER)
    )


def next_due(lot: Lot) -> Lot | None:
    """The next lot to look at after this one on the walk; from the start again at its end."""
    others = looks_due().exclude(pk=lot.pk)
    if lot.place is None:
        return others.first()
    here, name = lot.place.walk_order, lot.place.name
    ahead = (
        Q(place__walk_order__gt=here)
        | Q(place__walk_order=here, place__name__gt=name)
        | Q(place=lot.place, code__gt=lot.code)
        | Q(place__isnull=True)
    )
    behind = Case(When(ahead, then=0), default=1)
    return others.order_by(behind, *IN_WALKING_ORDER).first()


@dataclass(frozen=True)
class Bench:
    """How many lots of a bench are to be looked at."""

    name: str
    due: int


def benches_due(today: date | None = None) -> list[Bench]:
    """Looks due by bench, in walking order; lots without a place come last, with no name."""
    # Counted here and not by the database, which would rather walk every lot by its place.
    by_place = Counter(looks_due(today).order_by().values_list("place", flat=True))
    places = Place.objects.filter(pk__in=[pk for pk in by_place if pk])
    benches: dict[str, int] = {}
    for place in places:
        benches[place.bench] = benches.get(place.bench, 0) + by_place[place.pk]
    found = [Bench(name, lots) for name, lots in benches.items()]
    if by_place.get(None):
        found.append(Bench("", by_place[None]))
    return found


def late(today: date | None = None) -> QuerySet[Lot]:
    """Lots past the day by which nine in ten of their kind have struck or finished."""
    return (
        Lot.objects.filter(late_after__lt=today or timezone.localdate())
        .select_related("variety", "method", "place")
        .order_by("late_after", "code")
    )


def losing() -> QuerySet[Lot]:
    """Lots that lost more than their kind usually does."""
    return (
        Lot.objects.filter(heavy_losses=True)
        .select_related("variety", "method", "place")
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


def waited_for() -> QuerySet[Forecast]:
    """The newest forecasts of the lots that are to finish."""
    return Forecast.objects.filter(due=True)


@dataclass(frozen=True)
class Week:
    """What is expected to finish in one ISO week; `monday` is its first day."""

    monday: date
    lots: int
    pots: int


def weeks_due(first: date = date.min, last: date = date.max) -> list[Week]:
    """Lots and pots expected to finish, by the ISO week of the likeliest day."""
    days = (
        waited_for()
        .filter(finished_p50__range=(first, last))
        .values("finished_p50")
        .annotate(lots=Count("pk"), pots=Sum("pots_p50"))
        .order_by("finished_p50")
    )
    weeks = []
    for monday, rows in groupby(days, key=lambda row: monday_of(row["finished_p50"])):
        found = list(rows)
        weeks.append(
            Week(monday, sum(row["lots"] for row in found), sum(row["pots"] for row in found))
        )
    return weeks


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


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


def flatmates(lot: Lot) -> Iterable[Lot]:
    """Other standing lots in the same flat."""
    if lot.flat_id is None:
        return []
    return (
        Lot.objects.filter(flat=lot.flat, look_on__isnull=False)
        .exclude(pk=lot.pk)
        .select_related("variety")
        .order_by("code")
    )


@dataclass(frozen=True)
class TargetAhead:
    """A target of the coming weeks, against what stands finished or is likely to finish by then."""

    target: Target
    here: int
    coming: int

    @property
    def short(self) -> int:
        return max(self.target.pots - self.here - self.coming, 0)


def targets_ahead(today: date, weeks: int = 8) -> list[TargetAhead]:
    """The next targets. Each stands for itself: a pot may be counted for two of them."""
    targets = list(
        Target.objects.filter(
            wanted_by__gte=today, wanted_by__lte=today + timedelta(weeks=weeks)
        ).select_related("variety", "pot_size")[:8]
    )
    wanted = {target.variety_id for target in targets}
    here = dict(
        Lot.objects.filter(variety__in=wanted, pots_finished__gt=0)
        .values_list("variety")
        .annotate(pots=Sum("pots_finished"))
        .values_list("variety", "pots")
    )
    coming = list(
        Lot.objects.filter(variety__in=wanted, late_after__isnull=False, forecasts__due=True)
        .values_list("variety", "forecasts__finished_p50")
        .annotate(pots=Sum("forecasts__pots_p50"))
        .order_by()
    )
    return [
        TargetAhead(
            target,
            here.get(target.variety_id, 0),
            sum(
                pots
                for variety, day, pots in coming
                if variety == target.variety_id and day <= target.wanted_by
            ),
        )
        for target in targets
    ]
