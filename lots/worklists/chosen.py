"""Which lots a page of many at once is about: those of a bench, a place or a flat, those due there,
or those that somebody ticked; each with what of it stands there, in walking order."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from operator import itemgetter

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from lots import codes
from lots.models import Flat, Lot, Place
from lots.models.lot import STANDING, LotPart, at_any
from lots.models.place import by_bench
from lots.worklists import walk

type Rows = list[tuple[Lot, LotPart]]

# What tells what there is to do with a lot, and where: a bench may hold thousands.
LIGHT = ("code", "place", "pots_place", "cells", "pots_growing", "pots_finished", "stage")


@dataclass(frozen=True)
class Chosen:
    """`query` says the choice again in an address. `rows` are read when they are asked for, with
    no more of each lot than LIGHT; `whole` reads the rest of some of them."""

    title: str
    read: Callable[[], Iterable[tuple[Lot, LotPart]]]
    query: dict[str, list[str]] = field(default_factory=dict)
    flat: Flat | None = None
    place: Place | None = None
    bench: str = ""
    due: bool = False

    @cached_property
    def rows(self) -> Rows:
        """In walking order."""
        keyed = ((walk.Stop(lot.pk, lot.code, part).key, lot, part) for lot, part in self.read())
        return [(lot, part) for _key, lot, part in sorted(keyed, key=itemgetter(0))]


def whole(rows: Rows) -> Rows:
    """The same rows with all that a page says of their lots."""
    found = _lots().in_bulk({lot.pk for lot, _part in rows})
    return [(found[lot.pk], part) for lot, part in rows if lot.pk in found]


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
    known = sorted({code for text in texts if (code := codes.read_or_none(text))})
    lots = Lot.objects.filter(code__in=known)
    return Chosen(_("Ticked lots"), lambda: _parts(lots), {"lot": known})


def of_flat(flat: Flat) -> Chosen:
    """Those with cells in a flat."""
    lots = Lot.objects.filter(flat=flat, cells__gt=0)
    title = _("Flat %(flat)s") % {"flat": flat}
    query = {"flat": [str(flat.pk)]}
    return Chosen(title, lambda: _parts(lots, but="pots"), query, flat=flat)


def of_place(place: Place) -> Chosen:
    """What stands at a place."""
    title = _("Place %(place)s") % {"place": place}
    query = {"place": [str(place.pk)]}
    return Chosen(title, lambda: _standing_at([place]), query, place=place)


def of_bench(bench: str) -> Chosen:
    """What stands at the places of a bench."""
    title = _("Bench %(bench)s") % {"bench": bench}
    return Chosen(
        title, lambda: _standing_at(by_bench().get(bench, [])), {"bench": [bench]}, bench=bench
    )


def of_round(bench: str | None = None) -> Chosen:
    """What is to be looked at today, in all or at a bench."""

    def read() -> Iterable[tuple[Lot, LotPart]]:
        rows = _parts(walk.looks_due())
        return (row for row in rows if bench is None or row[1].bench == bench)

    query = {"due": ["1"]} | ({} if bench is None else {"bench": [bench]})
    title = _("Round, bench %(bench)s") % {"bench": bench} if bench else _("Round")
    return Chosen(title, read, query, bench=bench or "", due=True)


def _standing_at(places: list[Place]) -> Iterable[tuple[Lot, LotPart]]:
    rows = _parts(Lot.objects.filter(at_any(places), stage__in=STANDING))
    here = set(places)
    return ((lot, part) for lot, part in rows if part.place in here)


def _parts(lots: QuerySet[Lot], but: str = "") -> Iterable[tuple[Lot, LotPart]]:
    """What of each lot stands together, except for the part called `but`."""
    places = Place.objects.in_bulk()
    for lot in lots.only(*LIGHT):
        lot.place, lot.pots_place = places.get(lot.place_id), places.get(lot.pots_place_id)
        for part in lot.parts:
            if part.what != but:
                yield lot, part
