"""Which lots a page of many at once is about: those of a bench, a place or a flat, those due there,
or those that somebody ticked; each with what of it stands there, in walking order."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from lots import codes
from lots.models import Flat, Lot, Place
from lots.models.lot import STANDING, LotPart
from lots.worklists import walk

type Rows = list[tuple[Lot, LotPart]]


@dataclass(frozen=True)
class Chosen:
    """`query` says the choice again in an address; `back` and `title` are where it comes from."""

    title: str
    rows: Rows
    query: dict[str, list[str]] = field(default_factory=dict)
    flat: Flat | None = None
    place: Place | None = None
    bench: str = ""
    due: bool = False


def part_named(lot: Lot, name: str) -> LotPart:
    """The part of a lot of that name, or the first there is: the lot may stand together by now."""
    return next((part for part in lot.parts if part.what == name), lot.parts[0])


def with_parts(keys: Iterable[str]) -> Rows:
    """The lots of keys like `7K3QFY-pots`, each with the part that is meant."""
    pairs = [key.partition("-")[::2] for key in keys]
    found = {lot.code: lot for lot in _lots().filter(code__in={code for code, _part in pairs})}
    return [(found[code], part_named(found[code], part)) for code, part in pairs if code in found]


def key_of_part(lot: Lot, part: LotPart) -> str:
    """How a row names its lot, and the part of it."""
    return f"{lot.code}-{part.what}"


def _lots() -> QuerySet[Lot]:
    return Lot.objects.select_related(
        "variety__group", "method", "place", "pots_place", "flat", "direct_pot_size"
    )


def ticked(texts: Iterable[str]) -> Chosen:
    """Those of so many codes, with all that stands of them."""
    found = [codes.read_or_none(text) for text in texts]
    lots = _lots().filter(code__in=[code for code in found if code])
    rows = _in_order((lot, part) for lot in lots for part in lot.parts)
    return Chosen(_("Ticked lots"), rows, {"lot": [lot.code for lot in lots]})


def of_flat(flat: Flat) -> Chosen:
    """Those with cells in a flat."""
    lots = _lots().filter(flat=flat, cells__gt=0)
    rows = _in_order((lot, lot.parts[0]) for lot in lots)
    title = _("Flat %(flat)s") % {"flat": flat}
    return Chosen(title, rows, {"flat": [str(flat.pk)]}, flat=flat)


def of_place(place: Place) -> Chosen:
    """What stands at a place."""
    title = _("Place %(place)s") % {"place": place}
    return Chosen(title, _standing_at([place]), {"place": [str(place.pk)]}, place=place)


def of_bench(bench: str) -> Chosen:
    """What stands at the places of a bench."""
    places = [place for place in Place.objects.all() if place.bench == bench]
    title = _("Bench %(bench)s") % {"bench": bench}
    return Chosen(title, _standing_at(places), {"bench": [bench]}, bench=bench)


def of_round(bench: str | None = None) -> Chosen:
    """What is to be looked at today, in all or at a bench."""
    stops = [stop for stop in walk.stops() if bench is None or stop.part.bench == bench]
    found = _lots().in_bulk({stop.pk for stop in stops})
    rows = [(found[stop.pk], stop.part) for stop in stops if stop.pk in found]
    query = {"due": ["1"]} | ({} if bench is None else {"bench": [bench]})
    title = _("Round, bench %(bench)s") % {"bench": bench} if bench else _("Round")
    return Chosen(title, rows, query, bench=bench or "", due=True)


def _standing_at(places: list[Place]) -> Rows:
    keys = {place.pk for place in places}
    here = Q(place__in=keys) | Q(pots_place__in=keys)
    lots = _lots().filter(here, stage__in=STANDING)
    parts = ((lot, part) for lot in lots for part in lot.parts)
    return _in_order((lot, part) for lot, part in parts if part.place and part.place.pk in keys)


def _in_order(rows: Iterable[tuple[Lot, LotPart]]) -> Rows:
    return sorted(rows, key=lambda row: walk.Stop(row[0].pk, row[0].code, row[1]).key)
