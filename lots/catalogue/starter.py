"""What a new book can begin with: crop groups and ways of cutting of the handbook, sizes of pots,
and places by the bench."""

from collections.abc import Iterable

from django.db import transaction

from lots.catalogue.genera import genus_of
from lots.catalogue.ways import WAYS
from lots.forecast import handbook
from lots.models import CropGroup, Method, Place, PotSize

# Common practice, no source: name, diameter in cm, pieces a pot, least struck for a full one.
POTS = [("7 cm", 7, 1, 1), ("9 cm", 9, 1, 1), ("11 cm", 11, 2, 1), ("13 cm", 13, 3, 2)]
MOST_PLACES = 2000


def groups() -> list[str]:
    """Kinds of the handbook of which the book has no crop group yet."""
    return [kind for kind in handbook.kinds() if CropGroup.known_as(kind) is None]


def methods() -> list[str]:
    """Ways of cutting that the book doesn't have yet."""
    return [way.name for way in WAYS if Method.known_as(way.name) is None]


def pots() -> list[str]:
    """Sizes of pots that the book doesn't have yet."""
    return [name for name, *_rest in POTS if PotSize.known_as(name) is None]


@transaction.atomic
def begin(some_groups: Iterable[str], some_methods: Iterable[str], some_pots: Iterable[str]) -> int:
    """Put the chosen ones into the book; returns how many rows were added."""
    rows = [
        *(CropGroup(name=kind, genus=genus_of(kind), roots_like=kind) for kind in some_groups),
        *(method for method in all_methods() if method.name in set(some_methods)),
        *(pot for pot in all_pots() if pot.name in set(some_pots)),
    ]
    for row in rows:  # one by one, so that each has its history
        row.save()
    return len(rows)


def all_methods() -> list[Method]:
    """The ways of cutting that are known here, unsaved."""
    return [
        Method(
            name=way.name,
            source_part=way.part,
            cut_like=handbook.propose_method(way.name),
            pieces_per_source=way.pieces,
            needs_shoot=way.needs_shoot,
            how_to=way.how_to,
        )
        for way in WAYS
    ]


def all_pots() -> list[PotSize]:
    """The sizes of pots that are known here, unsaved."""
    return [
        PotSize(name=name, diameter_cm=width, pieces_per_pot=pieces, least_struck=least)
        for name, width, pieces, least in POTS
    ]


def range_of_places(house: str, benches: range, places: int) -> list[Place]:
    """Unsaved places `1-01`, `1-02` … of so many benches, with so many each, in the order of a
    walk behind all that are there; those that the book has already are left out."""
    last = Place.objects.order_by("-walk_order").values_list("walk_order", flat=True).first() or 0
    start = -(-(last + 1) // 1000) * 1000 if last else 0
    head = f"{house}-" if house else ""
    wide = max(2, len(str(places)))
    made = []
    for row, bench in enumerate(benches, start=1):
        for number in range(1, places + 1):
            name = f"{head}{bench}-{number:0{wide}}"
            made.append(Place(name=name, walk_order=start + row * 1000 + number * 10))
    known = {name.casefold() for name in Place.objects.values_list("name", flat=True)}
    return [place for place in made if place.name.casefold() not in known]
