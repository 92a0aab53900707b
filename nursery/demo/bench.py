"""The demo nursery's stock plants, and which of them a lot is cut from."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from numpy.random import Generator

from lots.models import Cut, Lot, Place, StockPlant, Variety
from lots.models.stock import Health, Origin
from nursery.demo.catalogue import SUPPLIERS

SICK = 1  # the variety, as listed, one of whose plants carries a disease
REST_WEEKS = {"leaf": 6, "stem": 4, "rhizome": 10, "crown": 20, "root": 10}


@dataclass(slots=True)
class Source:
    """A stock plant with what the demo has to know of its years."""

    plant: StockPlant
    first: date  # the days between which it may be cut
    last: date
    sick_from: date | None = None
    rests_until: date = date.min


@dataclass
class Bench:
    """All stock plants, by variety; own ones join as lots finish."""

    rng: Generator
    today: date
    places: list[Place]
    own_each: int  # most own plants a variety
    of: dict[str, list[Source]] = field(default_factory=dict)
    made: int = 0

    def furnish(self, varieties: list[Variety], start: date) -> None:
        """What the nursery began with, by `start`: bought plants and gifts, some of which are
        gone by now, one of which carries a disease that was found out late."""
        rng = self.rng
        for number, variety in enumerate(varieties):
            for which in range(int(rng.integers(2, 4))):
                since = start - timedelta(days=int(rng.integers(60, 900)))
                gift = rng.random() < 0.25
                source = self._add(
                    variety,
                    since,
                    first=start,
                    origin=Origin.GIFT if gift else Origin.BOUGHT,
                    supplier=SUPPLIERS[rng.integers(len(SUPPLIERS))],
                )
                if number == SICK and which == 1:
                    source.plant.health = Health.QUARANTINED
                    source.sick_from = self.today - timedelta(days=130)
                    source.last = self.today - timedelta(days=24)
                elif which and rng.random() < 0.2:
                    source.plant.health = Health.GONE
                    source.last = start + timedelta(days=int(rng.integers(200, 900)))
                elif which and rng.random() < 0.08:
                    source.plant.health = Health.WATCH

    def keep(self, lot: Lot, since: date) -> None:
        """A pot of a lot becomes a stock plant: another generation."""
        first = since + timedelta(days=100)
        source = self._add(lot.variety, since, first=first, origin=Origin.OWN)
        source.plant.from_lot = lot

    def wants(self, variety: Variety) -> bool:
        own = sum(source.plant.origin == Origin.OWN for source in self.of[variety.code])
        return own < self.own_each and self.rng.random() < 0.25

    def choose(self, variety: Variety, day: date, part: str, pieces: int) -> list[Source]:
        """The plants to cut on a day: one, or two for many pieces, those longest at rest."""
        able = [s for s in self.of[variety.code] if s.first <= day <= s.last]
        able.sort(key=lambda source: (source.rests_until, source.plant.code))
        # The sick plant grew well: for its last months it was the favourite.
        able.sort(key=lambda source: source.sick_from is None or source.sick_from > day)
        chosen = able[: 2 if pieces > 40 else 1]
        for source in chosen:
            source.rests_until = day + timedelta(weeks=REST_WEEKS[part])
        return chosen

    def _add(self, variety: Variety, since: date, *, first: date, **what) -> Source:
        self.made += 1
        plant = StockPlant(
            code=f"{variety.code}-{len(self.of.setdefault(variety.code, [])) + 1:02}",
            variety=variety,
            since=since,
            place=self.places[self.made % len(self.places)],
            pieces_per_cut=int(self.rng.integers(2, 9)) * 10,
            rest_weeks=int(self.rng.integers(4, 9)),
            **what,
        )
        source = Source(plant, first, date.max)
        self.of[variety.code].append(source)
        return source


def in_cutting_order(lines: list[tuple[Lot, list[Source]]]) -> list[tuple[Lot, list[Source]]]:
    """Lots of one session as they are cut: sound plants before the rest, then by variety."""

    def rank(line: tuple[Lot, list[Source]]) -> tuple[bool, str]:
        lot, sources = line
        return any(s.plant.health != Health.SOUND for s in sources), lot.variety.code

    return sorted(lines, key=rank)


def cuts(lines: list[tuple[Lot, list[Source]]]) -> list[Cut]:
    """The cuts of a session whose lines are in cutting order, tools disinfected between
    varieties."""
    made: list[Cut] = []
    before = ""
    for lot, sources in lines:
        pieces = lot.units * lot.pieces_per_unit
        for number, source in enumerate(sources):
            share = pieces // len(sources) + (number < pieces % len(sources))
            made.append(
                Cut(
                    lot=lot,
                    stock_plant=source.plant,
                    pieces=share,
                    order=len(made) + 1,
                    disinfected_before=lot.variety.code != before,
                )
            )
            before = lot.variety.code
    return made
