"""Writes the demo nursery into an empty book."""

import gc
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, tau

import numpy as np
from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils import timezone
from numpy.random import Generator

from lots import codes, ledger
from lots.cutting import number_cuts
from lots.models import (
    CropGroup,
    Cut,
    Flat,
    Lot,
    Method,
    Place,
    PotSize,
    Record,
    Stage,
    StickingSession,
    StockPlant,
    Target,
    Variety,
)
from nursery.demo import bench, catalogue, fate, methods
from nursery.demo.life import House, Life
from nursery.models import Person, Role

YEARS = 3
UNITS = [12, 18, 24, 24, 36, 48, 48, 72]
NEVER_STUCK = 0.015  # share of lots whose tag was printed in vain
PLANNED = 10  # lots of tomorrow's session


@dataclass
class Shelf:
    """What is in the book before the first lot, each list as written."""

    people: list[Person]
    methods: dict[str, Method]
    pots: list[PotSize]
    varieties: list[tuple[Variety, catalogue.Kind]]
    places: list[list[Place]]  # bench by bench
    flats: list[Flat]


@transaction.atomic
def load(*, day: date, lots: int, seed: int, password: str) -> None:
    """Write the nursery as it stands on the morning of `day`, with about `lots` lots, into a
    book that has none. The same day, lots and seed give the same book."""
    rng = np.random.default_rng([seed, day.toordinal(), lots])
    shelf = _fill_shelf(lots, password)
    start = day - timedelta(days=365 * YEARS)
    stock = bench.Bench(rng, day, shelf.places[2], own_each=2 + lots // 5000)
    stock.furnish([variety for variety, _kind in shelf.varieties], start)
    writer = Writer(rng, day, shelf, stock)
    planned = min(PLANNED, lots)
    days = _session_days(rng, start, day, lots - planned)
    # A large book is millions of objects and not one cycle: the collector would walk them all
    # over and over, which is a fifth of the time.
    gc.disable()
    try:
        ledger.load(writer.book(days, planned))
    finally:
        gc.enable()
    StockPlant.objects.bulk_create(
        source.plant for sources in stock.of.values() for source in sources
    )
    Cut.objects.bulk_create(writer.cuts, batch_size=1000)
    number_cuts(StickingSession.objects.get(day=day + timedelta(days=1)))
    Target.objects.bulk_create(_targets(rng, day, shelf))


def _fill_shelf(lots: int, password: str) -> Shelf:
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
            pieces_per_source=way.pieces,
            needs_shoot=way.needs_shoot,
            how_to=way.how_to,
        )
        for way in methods.WAYS
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
    return Shelf(people, {way.name: way for way in ways}, pots, _write_varieties(), places, flats)


def _write_varieties() -> list[tuple[Variety, catalogue.Kind]]:
    groups = {kind.name: CropGroup(name=kind.name, genus=kind.genus) for kind in catalogue.KINDS}
    CropGroup.objects.bulk_create(groups.values())
    kinds = {kind.name: kind for kind in catalogue.KINDS}
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


def _session_days(rng: Generator, start: date, today: date, lots: int) -> list[tuple[date, int]]:
    """The sitting days before today, each with its number of lots: more in spring and late
    summer, more from year to year, none at the weekend."""
    if lots < 1:
        return []
    days = [start + timedelta(days=number) for number in range((today - start).days)]
    days = [each for each in days if each.weekday() < 5]
    weights = np.array(
        [
            (1 + 0.45 * cos(tau * (each.timetuple().tm_yday - 95) / 182.6))
            * (1 + 0.6 * number / len(days))
            for number, each in enumerate(days)
        ]
    )
    edges = np.cumsum(weights / weights.sum())
    sittings = min(max(lots // 8, 1), len(days))
    # One sitting in each equal share of the work, so that there is always one of late.
    marks = (np.arange(sittings) + rng.random(sittings)) / sittings
    chosen = np.unique(np.minimum(np.searchsorted(edges, marks), len(days) - 1))
    share = weights[chosen] if sittings == len(days) else np.ones(len(chosen))
    counts = rng.multinomial(lots - len(chosen), share / share.sum()) + 1
    return [(days[which], int(count)) for which, count in zip(chosen, counts, strict=True)]


class Writer:
    """Makes lots and their records, session by session."""

    def __init__(self, rng: Generator, today: date, shelf: Shelf, stock: bench.Bench) -> None:
        self.rng, self.today, self.shelf, self.stock = rng, today, shelf, stock
        self.house = House(
            rng,
            today,
            shelf.people,
            shelf.places[1] + shelf.places[2],
            timezone.get_current_timezone(),
        )
        self.cuts: list[Cut] = []
        self.used: set[str] = set()
        self.flat = 0
        able = [pair for pair in shelf.varieties if pair[0].may_be_stuck]
        self.able = able
        popularity = rng.gamma(3, 1, len(able))
        self.popularity = np.cumsum(popularity / popularity.sum())
        self.bent = {
            (variety.code, course.method): fate.draw_bent(rng)
            for variety, kind in able
            for course in kind.courses
        }

    def book(
        self, days: list[tuple[date, int]], planned: int
    ) -> Iterator[tuple[Lot, list[Record]]]:
        """What `ledger.load` takes: every past session's lots, then tomorrow's."""
        managers = [person for person in self.shelf.people if person.role == Role.MANAGER]
        tomorrow = (self.today + timedelta(days=1), planned)
        sessions = StickingSession.objects.bulk_create(
            StickingSession(
                code=day.isoformat(),
                day=day,
                led_by=managers[self.rng.integers(len(managers))],
                disinfectant=catalogue.DISINFECTANTS[
                    self.rng.integers(len(catalogue.DISINFECTANTS))
                ],
            )
            for day, _lots in [*days, tomorrow]
        )
        for session, (_day, lots) in zip(sessions, [*days, tomorrow], strict=True):
            lines = [self._line(session) for _ in range(lots)]
            lines = bench.in_cutting_order(lines)
            for number, (lot, sources) in enumerate(lines, 1):
                lot.line = number
                yield lot, self._tell(lot, sources)
            self.cuts.extend(bench.cuts(lines))

    def _line(self, session: StickingSession) -> tuple[Lot, list[bench.Source]]:
        """One lot of a session as planned, and the plants it is cut from."""
        rng, shelf = self.rng, self.shelf
        variety, kind = self.able[int(np.searchsorted(self.popularity, rng.random()))]
        course = self._course(kind)
        method = shelf.methods[course.method]
        direct = shelf.pots[1 + rng.integers(3)] if rng.random() < kind.direct else None
        units = UNITS[rng.integers(len(UNITS))]
        stem = method.source_part == "stem"
        self.flat = (self.flat + (rng.random() < 0.8)) % len(shelf.flats)
        lot = Lot(
            code=self._code(),
            session=session,
            variety=variety,
            method=method,
            medium=catalogue.MEDIA[rng.integers(len(catalogue.MEDIA))],
            hormone=catalogue.HORMONE if stem and rng.random() < 0.5 else "",
            planned_units=units,
            pieces_per_unit=direct.pieces_per_pot if direct else 1,
            direct_pot_size=direct,
            flat=shelf.flats[self.flat],
            first_place=shelf.places[0][rng.integers(len(shelf.places[0]))],
        )
        pieces = units * lot.pieces_per_unit
        return lot, self.stock.choose(variety, session.day, method.source_part, pieces)

    def _course(self, kind: catalogue.Kind) -> catalogue.Course:
        luck = self.rng.random()
        for course in kind.courses:
            luck -= course.share
            if luck < 0:
                return course
        return kind.courses[0]

    def _tell(self, lot: Lot, sources: list[bench.Source]) -> list[Record]:
        """Stick the lot, unless its day is to come, and tell what came of it."""
        rng, shelf, day = self.rng, self.shelf, lot.session.day
        if day >= self.today:
            return []
        if rng.random() < NEVER_STUCK:
            lot.stage, lot.note = Stage.NOT_STUCK, "not enough leaves that day"
            return []
        lot.stuck_on = day
        lot.stuck_by = shelf.people[int(rng.beta(1.2, 2) * len(shelf.people))]
        less = int(rng.integers(1, 5)) if rng.random() < 0.12 else 0
        lot.stuck_units = lot.planned_units - less
        pot = lot.direct_pot_size
        kind = next(kind for kind in catalogue.KINDS if kind.name == lot.variety.group.name)
        fated = fate.draw(
            rng,
            next(course for course in kind.courses if course.method == lot.method.name),
            self.bent[lot.variety.code, lot.method.name],
            day,
            units=lot.stuck_units,
            pieces=lot.pieces_per_unit,
            least=pot.least_struck if pot else 1,
            sick=any(s.sick_from and s.sick_from <= day for s in sources) and rng.random() < 0.6,
        )
        life = Life(
            house=self.house,
            lot=lot,
            fate=fated,
            pot_size=shelf.pots[int(rng.integers(4))] if rng.random() < 0.5 else shelf.pots[1],
            keep_one=self.stock.wants(lot.variety),
        )
        records = life.tell()
        if life.kept is not None and day + timedelta(days=life.kept) < self.today:
            self.stock.keep(lot, day + timedelta(days=life.kept))
        return records

    def _code(self) -> str:
        """A lot code from the demo's own chance, that no lot of it has yet."""
        while True:
            drawn = self.rng.integers(0, len(codes.CROCKFORD), codes.LENGTH - 1)
            payload = "".join(codes.CROCKFORD[which] for which in drawn)
            code = payload + codes.check_character(payload)
            if code[-1] in codes.CROCKFORD and code not in self.used:
                self.used.add(code)
                return code


def _targets(rng: Generator, today: date, shelf: Shelf) -> list[Target]:
    able = [variety for variety, _kind in shelf.varieties if variety.may_be_stuck]
    return [
        Target(
            variety=able[which],
            pot_size=shelf.pots[1 if rng.random() < 0.7 else 2],
            pots=int(rng.integers(2, 13)) * 10,
            wanted_by=today + timedelta(days=int(rng.integers(10, 240))),
            for_whom=catalogue.CUSTOMERS[rng.integers(len(catalogue.CUSTOMERS))],
        )
        for which in rng.choice(len(able), 16, replace=False)
    ]
