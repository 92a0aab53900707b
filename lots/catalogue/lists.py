"""Reads behind the catalogue pages: rows with what stands of them."""

from django.db.models import Count, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from lots.models import CropGroup, Lot, Place, StockPlant, Variety
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


def potted_of(variety: Variety) -> dict[str, int]:
    """Of lots of a variety that have no living cells any more: how many, how many units were
    `stuck`, and how many of them went into pots."""
    done = Lot.objects.filter(variety=variety, stuck_units__isnull=False, cells=0)
    done = done.filter(direct_pot_size__isnull=True)
    return done.aggregate(
        lots=Count("pk"), stuck=Sum("stuck_units", default=0), potted=Sum("units_potted", default=0)
    )


def named(words: str, prefix: str = "") -> Q:
    """Varieties in whose name or code every one of the words stands."""
    found = Q()
    for word in words.split():
        either = Q()
        for field in ("code", "genus", "species", "cultivar", "trade_name"):
            either |= Q(**{f"{prefix}{field}__icontains": word.strip("'‘’×")})
        found &= either
    return found


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
