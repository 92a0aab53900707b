"""Reads of stock plants: when they were cut, how long they rest, where they come from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Max, OuterRef, QuerySet, Subquery, Sum
from django.utils import timezone

from lots.models import Cut, Lot, StockPlant


def stock_plants() -> QuerySet[StockPlant]:
    """Stock plants, each with the day it was last cut (`last_cut`), or None."""
    last = (
        Cut.objects.filter(stock_plant=OuterRef("pk"))
        .order_by()
        .values("stock_plant")
        .annotate(day=Max("lot__stuck_on"))
        .values("day")
    )
    return StockPlant.objects.select_related("variety", "place", "from_lot").annotate(
        last_cut=Subquery(last)
    )


def rests_until(plant: StockPlant) -> date | None:
    """The day from which a plant of `stock_plants` can be cut again; None if that is now."""
    day = rested_on(plant, plant.last_cut)
    return day if day and day > timezone.localdate() else None


def rested_on(plant: StockPlant, last_cut: date | None) -> date | None:
    """The day from which a plant last cut on a day can be cut again; None if it need not rest."""
    if last_cut is None or plant.rest_weeks is None:
        return None
    return last_cut + timedelta(weeks=plant.rest_weeks)


def taken(plant: StockPlant) -> dict[str, int]:
    """What was cut from a plant in the last 52 weeks: how many `cuts`, and the `pieces` of those of
    which the book knows."""
    year = timezone.localdate() - timedelta(weeks=52)
    done = plant.cuts.filter(lot__stuck_on__gte=year)
    return done.aggregate(cuts=Count("pk"), pieces=Sum("pieces", default=0))


@dataclass(frozen=True)
class Generation:
    """One step back: the own lots that a plant came from, and the plants these were cut from."""

    lots: list[Lot]
    plants: list[StockPlant]


def ancestry(plant: StockPlant) -> list[Generation]:
    """The generations behind a stock plant, the youngest first; none for one that came from
    outside. Each plant stands once, so that a circle in what was entered comes to an end."""
    generations = []
    seen = {plant.pk}
    behind = _lots_behind([plant])
    while behind:
        lots = list(
            Lot.objects.filter(pk__in=behind)
            .select_related("variety")
            .prefetch_related("stock_plants__variety")
        )
        found = {
            parent.pk: parent
            for lot in lots
            for parent in lot.stock_plants.all()
            if parent.pk not in seen
        }
        seen |= found.keys()
        generations.append(Generation(lots, list(found.values())))
        behind = _lots_behind(found.values())
    return generations


def _lots_behind(plants: Iterable[StockPlant]) -> set[int]:
    return {plant.from_lot_id for plant in plants if plant.from_lot_id}
