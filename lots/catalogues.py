"""Reads behind the catalogue pages: rows with what stands of them, and where a plant comes from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, IntegerField, Max, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from lots.models import CropGroup, Cut, Lot, Place, StockPlant, Variety
from lots.models.lot import STANDING
from lots.models.stock import Health


def varieties() -> QuerySet[Variety]:
    """Varieties, each with `standing` lots and `plants` to cut from."""
    return Variety.objects.select_related("group").annotate(
        standing=_how_many(Lot.objects.filter(stage__in=STANDING), "variety"),
        plants=_how_many(StockPlant.objects.exclude(health=Health.GONE), "variety"),
    )


def places() -> QuerySet[Place]:
    """Places in walking order, each with the `standing` lots that have cells or pots there."""
    lots = Lot.objects.filter(stage__in=STANDING)
    pots = lots.filter(pots_place__isnull=False)
    return Place.objects.annotate(standing=_how_many(lots, "place") + _how_many(pots, "pots_place"))


def groups() -> QuerySet[CropGroup]:
    """Crop groups, each with how many varieties (`size`) are of it."""
    return CropGroup.objects.annotate(size=_how_many(Variety.objects.all(), "group"))


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
    if plant.last_cut is None or plant.rest_weeks is None:
        return None
    day = plant.last_cut + timedelta(weeks=plant.rest_weeks)
    return day if day > timezone.localdate() else None


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


def _how_many(rows: QuerySet, field: str) -> Coalesce:
    """How many of the rows point at the outer row: a subquery, so that counts don't multiply."""
    counted = (
        rows.filter(**{field: OuterRef("pk")})
        .order_by()
        .values(field)
        .annotate(how_many=Count("pk"))
        .values("how_many")
    )
    return Coalesce(Subquery(counted, output_field=IntegerField()), Value(0))
