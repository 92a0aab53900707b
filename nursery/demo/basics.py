"""What is in the demo book before the first lot: people, catalogues, places, flats."""

from dataclasses import dataclass
from itertools import batched

from django.contrib.auth.hashers import make_password

from lots.catalogue import starter
from lots.forecast import handbook
from lots.models import CropGroup, Flat, Method, Place, PotSize, Variety
from nursery.demo import catalogue
from nursery.models import Person, Role


@dataclass
class Basics:
    """Each list as written."""

    people: list[Person]
    methods: dict[str, Method]
    pots: list[PotSize]
    varieties: list[tuple[Variety, catalogue.Kind]]
    places: list[list[Place]]  # bench by bench
    flats: list[Flat]


def fill_basics(lots: int, password: str) -> Basics:
    hashed = make_password(password)
    people = Person.objects.bulk_create(
        Person(
            username=username,
            name=name,
            initials=initials,
            role=Role.MANAGER if manager else Role.GROWER,
            password=hashed,
        )
        for username, name, initials, manager in catalogue.PEOPLE
    )
    ways = Method.objects.bulk_create(starter.all_methods())
    pots = PotSize.objects.bulk_create(starter.all_pots())
    positions = min(max(14, lots // 120), 99)
    made = Place.objects.bulk_create(starter.range_of_places("", range(1, 4), positions))
    places = [list(bench) for bench in batched(made, positions)]
    flats = Flat.objects.bulk_create(Flat(code=f"F{n:04}") for n in range(1, lots // 3 + 20))
    return Basics(people, {way.name: way for way in ways}, pots, _write_varieties(), places, flats)


def _write_varieties() -> list[tuple[Variety, catalogue.Kind]]:
    kinds = {kind.name: kind for kind in catalogue.KINDS}
    groups = {name: _group(kind) for name, kind in kinds.items()}
    CropGroup.objects.bulk_create(groups.values())
    varieties: list[tuple[Variety, catalogue.Kind]] = []
    number = dict.fromkeys(kinds, 0)
    for sort in catalogue.SORTS:
        kind = kinds[sort.kind]
        number[sort.kind] += 1
        variety = Variety(
            code=f"{kind.prefix}{number[sort.kind]:02}",
            group=groups[sort.kind],
            genus=kind.genus,
            species=sort.species,
            hybrid=sort.hybrid,
            cultivar=sort.cultivar,
            protected=sort.protected,
            licence=sort.licence,
            note=sort.note,
        )
        varieties.append((variety, kind))
    Variety.objects.bulk_create(variety for variety, _kind in varieties)
    return varieties


def _group(kind: catalogue.Kind) -> CropGroup:
    like = handbook.propose_kind(kind.name)
    return CropGroup(name=kind.name, genus=kind.genus, roots_like=like)
