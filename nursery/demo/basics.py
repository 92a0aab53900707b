"""What is in the demo book before the first lot: people, catalogues, places, flats."""

from dataclasses import dataclass

from django.contrib.auth.hashers import make_password

from lots.catalogue.ways import WAYS
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
    ways = Method.objects.bulk_create(
        Method(
            name=way.name,
            source_part=way.part,
            cut_like=handbook.propose_method(way.name),
            pieces_per_source=way.pieces,
            needs_shoot=way.needs_shoot,
            how_to=way.how_to,
        )
        for way in WAYS
    )
    pots = PotSize.objects.bulk_create(
        PotSize(name=name, diameter_cm=width, pieces_per_pot=pieces, least_struck=least)
        for name, width, pieces, least in catalogue.POT_SIZES
    )
    positions = min(max(14, lots // 120), 99)
    places = [
        [
            Place(name=f"{number}-{position:02}", walk_order=number * 1000 + position * 10)
            for position in range(1, positions + 1)
        ]
        for number in (1, 2, 3)
    ]
    Place.objects.bulk_create(place for row in places for place in row)
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
