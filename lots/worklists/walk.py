"""The walking round: where somebody should look, in the order of the walk.

A lot whose pots left its cells is looked at where these stand and where those do, so the round is
one of stops and not of lots.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.utils import timezone

from lots.models import Lot, Place
from lots.models.lot import LotPart

LAST = float("inf")  # lots without a place come last


def _key(code: str, order: float = LAST, name: str = "") -> tuple:
    return order, name, code


@dataclass(frozen=True)
class Stop:
    """A lot that is due, by its primary key and code, and what of it is to be seen where."""

    pk: int
    code: str
    part: LotPart

    @property
    def key(self) -> tuple:
        """What the walk is sorted by."""
        place = self.part.place
        return _key(self.code, place.walk_order, place.name) if place else _key(self.code)


def looks_due(today: date | None = None) -> QuerySet[Lot]:
    """Lots that somebody should look at by today."""
    return Lot.objects.filter(look_on__lte=today or timezone.localdate())


def stops(today: date | None = None) -> list[Stop]:
    """Where somebody should look by today, in walking order."""
    # Sorted here and not by the database, which would rather walk every lot by its place.
    places = Place.objects.in_bulk()
    found = []
    due = looks_due(today).values_list("pk", "code", "place", "pots_place")
    for pk, code, place, pots_place in due:
        here = places.get(place)
        if pots_place is None:
            found.append(Stop(pk, code, LotPart("all", here)))
        else:
            found.append(Stop(pk, code, LotPart("cells", here)))
            found.append(Stop(pk, code, LotPart("pots", places[pots_place])))
    return sorted(found, key=lambda stop: stop.key)


def next_stop(lot: Lot, part: LotPart) -> Stop | None:
    """The stop after this one of a lot's on the walk; from the start again at its end."""
    here = Stop(lot.pk, lot.code, part).key, lot.pk, part.what
    walk = [one for one in _keys() if one[1:] != here[1:]]
    after = [one for one in walk if one > here]
    if not walk:
        return None
    # Only what is nearest is read whole: each save asks this.
    _key, pk, what = min(after or walk)
    found = Lot.objects.select_related("place", "pots_place").get(pk=pk)
    return next(Stop(pk, found.code, part) for part in found.parts if part.what == what)


def _keys() -> Iterator[tuple[tuple, int, str]]:
    """Of each stop by today what the walk is sorted by, its lot's key, and what of it stands there;
    in no order."""
    fields = ("place__walk_order", "place__name", "pots_place__walk_order", "pots_place__name")
    for pk, code, order, name, pots_order, pots_name in (
        looks_due().order_by().values_list("pk", "code", *fields)
    ):
        apart = pots_order is not None
        here = _key(code) if order is None else _key(code, order, name)
        yield here, pk, "cells" if apart else "all"
        if apart:
            yield _key(code, pots_order, pots_name), pk, "pots"


def with_lots(some: Iterable[Stop]) -> list[tuple[Lot, LotPart]]:
    """The lots of some stops, each with what of it stands there."""
    some = list(some)
    lots = Lot.objects.select_related("variety", "method", "place", "pots_place", "flat")
    found = lots.in_bulk({stop.pk for stop in some})
    return [(found[stop.pk], stop.part) for stop in some]


@dataclass(frozen=True)
class Bench:
    """How many stops of the round are at a bench."""

    name: str
    due: int


def benches(walk: Iterable[Stop]) -> list[Bench]:
    """A walk by bench, in walking order; what has no place stands last, with no name."""
    due: dict[str, int] = {}
    for stop in walk:
        due[stop.part.bench] = due.get(stop.part.bench, 0) + 1
    return [Bench(name, stops) for name, stops in due.items()]
