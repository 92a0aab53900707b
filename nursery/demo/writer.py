"""The demo nursery's sessions, their lots and the records of those."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

import numpy as np
from django.utils import timezone
from numpy.random import Generator

from lots import codes
from lots.models import Cut, Lot, Place, PotSize, Record, Stage, StickingSession
from nursery.demo import bench, catalogue, outcome, trials
from nursery.demo.basics import Basics
from nursery.demo.context import Context
from nursery.demo.history import History
from nursery.models import Person, Role

UNITS = [12, 18, 24, 24, 36, 48, 48, 72]
NEVER_STUCK = 0.015  # share of lots whose tag was printed in vain


class Writer:
    """Makes lots and their records, session by session."""

    def __init__(self, rng: Generator, today: date, basics: Basics, stock: bench.Bench) -> None:
        self.rng, self.today, self.basics, self.stock = rng, today, basics, stock
        self.context = Context(
            rng,
            today,
            basics.people,
            basics.places[1] + basics.places[2],
            timezone.get_current_timezone(),
        )
        self.cuts: list[Cut] = []
        self.used: set[str] = set()
        self.flat = 0
        able = [pair for pair in basics.varieties if pair[0].may_be_stuck]
        self.able = able
        popularity = rng.gamma(3, 1, len(able))
        popularity[bench.SICK] = popularity.max()  # a favourite, so that the trouble spread
        self.popularity = np.cumsum(popularity / popularity.sum())
        self.deviation = {
            (variety.code, course.method): outcome.draw_deviation(rng)
            for variety, kind in able
            for course in kind.courses
        }

    def book(
        self, days: list[tuple[date, int]], planned: int, asked: Mapping[date, trials.Question]
    ) -> Iterator[tuple[Lot, list[Record]]]:
        """What `ledger.load` takes: every past session's lots, then tomorrow's. What is `asked`
        on one of the days is stuck after the others as a trial."""
        managers = [person for person in self.basics.people if person.role == Role.MANAGER]
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
        for session, (day, lots) in zip(sessions, [*days, tomorrow], strict=True):
            lines = [self._line(session) for _ in range(lots)]
            lines = bench.in_cutting_order(lines)
            for number, (lot, sources) in enumerate(lines, 1):
                lot.line = number
                yield lot, self._tell(lot, sources)
            if day in asked:
                for lot, sources, records in self._trial(asked[day], session):
                    lines.append((lot, sources))
                    lot.line = len(lines)
                    yield lot, records
            self.cuts.extend(bench.cuts(lines))

    def _trial(
        self, question: trials.Question, session: StickingSession
    ) -> Iterator[tuple[Lot, list[bench.Source], list[Record]]]:
        """The lots of a trial, all from the same plants and by the same hands."""
        entered = trials.enter(question, session, self.basics, self.rng, self._code)
        first, _chance = entered[0]
        pieces = sum(lot.planned_units for lot, _chance in entered)
        part = first.method.source_part
        sources = self.stock.choose(first.variety, session.day, part, pieces)
        hands = self._hands()
        for lot, chance in entered:
            lot.stuck_on, lot.stuck_by, lot.stuck_units = session.day, hands, lot.planned_units
            yield lot, sources, self._live(lot, sick=False, chance=chance)

    def _line(self, session: StickingSession) -> tuple[Lot, list[bench.Source]]:
        """One lot of a session as planned, and the plants it is cut from."""
        rng, basics = self.rng, self.basics
        variety, kind = self.able[int(np.searchsorted(self.popularity, rng.random()))]
        course = self._course(kind)
        method = basics.methods[course.method]
        direct = basics.pots[1 + rng.integers(3)] if rng.random() < kind.direct else None
        units = UNITS[rng.integers(len(UNITS))]
        stem = method.source_part == "stem"
        self.flat = (self.flat + (rng.random() < 0.8)) % len(basics.flats)
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
            flat=None if direct else basics.flats[self.flat],
            first_place=self._bench(direct),
        )
        pieces = units * lot.pieces_per_unit
        return lot, self.stock.choose(variety, session.day, method.source_part, pieces)

    def _bench(self, direct: PotSize | None) -> Place:
        """Where a lot is stuck: pots anywhere, cells where their flat stands."""
        bench = self.basics.places[0]
        return bench[(self.rng.integers(len(bench)) if direct else self.flat % len(bench))]

    def _course(self, kind: catalogue.Kind) -> catalogue.Course:
        luck = self.rng.random()
        for course in kind.courses:
            luck -= course.share
            if luck < 0:
                return course
        return kind.courses[0]

    def _tell(self, lot: Lot, sources: list[bench.Source]) -> list[Record]:
        """Stick the lot, unless its day is to come, and tell what came of it."""
        rng, day = self.rng, lot.session.day
        if day >= self.today:
            return []
        if rng.random() < NEVER_STUCK:
            lot.stage, lot.note = Stage.NOT_STUCK, "not enough leaves that day"
            return []
        lot.stuck_on = day
        lot.stuck_by = self._hands()
        less = int(rng.integers(1, 5)) if rng.random() < 0.12 else 0
        lot.stuck_units = lot.planned_units - less
        sick = any(s.sick_from and s.sick_from <= day for s in sources) and rng.random() < 0.6
        return self._live(lot, sick=sick)

    def _hands(self) -> Person:
        people = self.basics.people
        return people[int(self.rng.beta(1.2, 2) * len(people))]

    def _live(self, lot: Lot, *, sick: bool, chance: float | None = None) -> list[Record]:
        """Draw what becomes of a stuck lot, and tell it."""
        rng, basics, day, pot = self.rng, self.basics, lot.stuck_on, lot.direct_pot_size
        kind = next(kind for kind in catalogue.KINDS if kind.name == lot.variety.group.name)
        fated = outcome.draw(
            rng,
            next(course for course in kind.courses if course.method == lot.method.name),
            self.deviation[lot.variety.code, lot.method.name],
            day,
            units=lot.stuck_units,
            pieces=lot.pieces_per_unit,
            least=pot.least_struck if pot else 1,
            sick=sick,
            chance=chance,
        )
        history = History(
            context=self.context,
            lot=lot,
            outcome=fated,
            pot_size=basics.pots[int(rng.integers(4))] if rng.random() < 0.5 else basics.pots[1],
            keep_one=self.stock.wants(lot.variety),
        )
        records = history.tell()
        if history.kept is not None and day + timedelta(days=history.kept) < self.today:
            self.stock.keep(lot, day + timedelta(days=history.kept))
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
