"""What stock plants can give on a day: the sound ones first, those on watch only where these are
not enough, never a quarantined one, and none before it has rested from its last cut, done or
planned."""

from datetime import date
from typing import NamedTuple

from django.db.models import Max, OuterRef, Subquery

from lots.models import Cut, Stage, StockPlant, Variety
from lots.models.stock import Health
from lots.stockplants.plants import rested_on, stock_plants

IN_ORDER = [Health.SOUND, Health.WATCH]


class Gift(NamedTuple):
    """So many pieces of a plant, which is rested and can be cut from a day on."""

    plant: StockPlant
    pieces: int
    ready_on: date


def gifts(variety: Variety, wanted: int, day: date, today: date) -> tuple[list[Gift], int]:
    """Which plants of a variety give `wanted` pieces on a day, and how many are short. A plant of
    which the book doesn't say what a cut gives is not counted on."""
    planned = (
        Cut.objects.filter(stock_plant=OuterRef("pk"), lot__stage=Stage.PLANNED)
        .order_by()
        .values("stock_plant")
        .annotate(day=Max("lot__session__day"))
        .values("day")
    )
    plants = stock_plants().annotate(planned_cut=Subquery(planned))
    plants = plants.filter(
        variety=variety, health__in=IN_ORDER, since__lte=day, pieces_per_cut__isnull=False
    )
    ready = [(plant, _ready_on(plant, today)) for plant in plants]
    ready.sort(key=lambda of: (IN_ORDER.index(of[0].health), of[1], of[0].code))
    found, left = [], wanted
    for plant, ready_on in ready:
        if left and ready_on <= day:
            given = min(plant.gives, left)
            found.append(Gift(plant, given, ready_on))
            left -= given
    return found, left


def _ready_on(plant: StockPlant, today: date) -> date:
    """The first day on which a plant has rested, of its cuts that are done and that are planned."""
    rests = [rested_on(plant, cut) for cut in (plant.last_cut, plant.planned_cut)]
    return max([today, *(day for day in rests if day)])
