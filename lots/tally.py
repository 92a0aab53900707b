"""What a lot's records add up to.

`replay` is the whole arithmetic of the book: the ledger runs it before it writes, the audit
runs it over everything, and the counts that are kept with a lot are its result. It knows
nothing of the database.

Units are conserved: `stuck = cells + cells_lost + units_potted`, and pots likewise:
`pots_made = pots_growing + pots_lost + pots_finished + pots_left`. A direct-stuck lot's units
are pots from the first day.

A lot stands at one place, or at two: its cells at one and its pots at another.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

# Records of one moment are taken in this order; then those of kinds that change no count.
ORDER = {"check": 0, "loss": 1, "move": 2, "potup": 3, "finish": 4, "leave": 5}


@dataclass(frozen=True, slots=True)
class Event:
    """One unvoided record: `units` counts cells, `pots` counts pots."""

    kind: str
    at: datetime
    day: date
    units: int = 0
    pots: int = 0
    stage: str = ""  # loss: cell or pot; leave: growing or finished
    looked_at: int = 0
    rooted: int = 0
    place: int | None = None
    what: str = "all"  # move: cells, pots or all
    pot_size: int | None = None


@dataclass(slots=True)
class Counts:
    """How a lot stands. `struck_on` and `finished_on` are the first days on which half or more
    of its living units were recorded so, `struck_after` and `finished_after` the last days before
    that on which fewer were; None where there is no such day."""

    cells: int = 0
    cells_lost: int = 0
    units_potted: int = 0
    pots_made: int = 0
    pots_growing: int = 0
    pots_lost: int = 0
    pots_finished: int = 0
    pots_left: int = 0
    struck_after: date | None = None
    struck_on: date | None = None
    finished_after: date | None = None
    finished_on: date | None = None
    potted_on: date | None = None  # the first day by which half of its pots were made from cells
    seen_on: date | None = None  # the last day somebody looked or handled it
    tested_on: date | None = None  # the last tug test before potting up
    tested: int = 0  # units looked at then; fewer than live, as long as it was a sample
    held: int = 0  # of those, rooted
    cells_at: int | None = None  # the place of its cells, or the last that they had
    pots_at: int | None = None  # that of its pots; None as long as nobody said one
    awaits_pots: bool = False  # pots were sent to a place before there were any
    pot_size: int | None = None  # of the last pots made or finished, where that was said

    @property
    def pots_here(self) -> int:
        return self.pots_growing + self.pots_finished

    @property
    def place(self) -> int | None:
        """Where the lot stands: its cells, as long as there are any, then its pots; where the
        last of it stood, once nothing is left."""
        if self.cells or not self.pots_made or self.pots_at is None:
            return self.cells_at
        return self.pots_at

    @property
    def pots_place(self) -> int | None:
        """Where its pots stand, if that is not where its cells do. Pots that nobody gave a place
        stand with the cells."""
        if self.cells and self.pots_here and self.pots_at != self.cells_at:
            return self.pots_at
        return None

    @property
    def living(self) -> int:
        """The most units that can be alive here: in cells, and in pots that are still here."""
        if self.units_potted:
            return self.cells + self.units_potted - self.pots_lost - self.pots_left
        return self.cells + self.pots_here


class Impossible(Exception):
    """A record takes more than there is: `has` of `what` stand where `wants` are asked for."""

    def __init__(self, event: Event, what: str, has: int, wants: int) -> None:
        super().__init__(f"{event.kind} of {wants} where {has} {what}")
        self.event = event
        self.what = what  # living, cells, growing, finished
        self.has = has
        self.wants = wants


def in_order(events: Iterable[Event]) -> list[Event]:
    """By moment, and at the same moment in the fixed order of kinds."""
    return sorted(events, key=lambda event: (event.at, ORDER.get(event.kind, len(ORDER))))


def replay(stuck: int, *, direct: bool, events: Iterable[Event], place: int | None) -> Counts:
    """Add up a lot: `stuck` units, then its events in order. Raises Impossible at the first
    event that would leave a count below nothing."""
    counts = Counts(cells_at=place)
    if direct:
        counts.pots_made = counts.pots_growing = stuck
        counts.pots_at = place
    else:
        counts.cells = stuck
    finished = 0  # pots that ever finished
    potted: list[tuple[date, int]] = []
    for event in in_order(events):
        match event.kind:
            case "check":
                _need(event, "living", counts.living, event.looked_at)
                _check(counts, event)
            case "loss" if event.stage == "cell":
                _need(event, "cells", counts.cells, event.units)
                counts.cells -= event.units
                counts.cells_lost += event.units
                _stay_a_sample(counts, event, counts.cells + counts.units_potted)
            case "loss":
                _need(event, "growing", counts.pots_growing, event.units)
                counts.pots_growing -= event.units
                counts.pots_lost += event.units
                if direct:
                    _stay_a_sample(counts, event, counts.pots_made - counts.pots_lost)
            case "move":
                _move(counts, event)
            case "potup":
                _need(event, "cells", counts.cells, event.units)
                _find_room(counts)
                counts.cells -= event.units
                counts.units_potted += event.units
                counts.pots_made += event.pots
                counts.pots_growing += event.pots
                counts.pot_size = event.pot_size
                potted.append((event.day, event.pots))
            case "finish":
                _need(event, "growing", counts.pots_growing, event.pots)
                counts.pots_growing -= event.pots
                counts.pots_finished += event.pots
                counts.pot_size = event.pot_size or counts.pot_size
                finished += event.pots
            case "leave" if event.stage == "growing":
                _need(event, "growing", counts.pots_growing, event.pots)
                counts.pots_growing -= event.pots
                counts.pots_left += event.pots
            case "leave":
                _need(event, "finished", counts.pots_finished, event.pots)
                counts.pots_finished -= event.pots
                counts.pots_left += event.pots
        if event.kind != "move":
            _look(counts, finished, event.day)
    counts.potted_on = _half_potted(potted)
    return counts


def _move(counts: Counts, event: Event) -> None:
    if event.what != "pots":
        counts.cells_at = event.place
    if event.what == "pots" or (event.what == "all" and (counts.pots_made or counts.awaits_pots)):
        counts.pots_at = event.place
    # Records of one moment have their moves before their pot-ups.
    counts.awaits_pots |= event.what == "pots" and not counts.pots_here


def _find_room(counts: Counts) -> None:
    """New pots join those that are here, or go where pots were sent; else they stay where the
    cells stood."""
    if not (counts.pots_here or counts.awaits_pots):
        counts.pots_at = counts.cells_at
    counts.awaits_pots = False


def _half_potted(potted: list[tuple[date, int]]) -> date | None:
    """The day by which half of the pots were made, of days and pots in order."""
    left = sum(pots for _, pots in potted) / 2
    for day, pots in potted:
        left -= pots
        if left <= 0:
            return day
    return None


def _check(counts: Counts, event: Event) -> None:
    """What a tug test says: of the whole lot as long as nothing is potted up."""
    if not counts.units_potted:
        counts.tested_on = event.day
        counts.tested, counts.held = event.looked_at, event.rooted
    if counts.struck_on is None:
        if event.looked_at <= 2 * event.rooted:
            counts.struck_on = event.day
        else:
            counts.struck_after = event.day


def _stay_a_sample(counts: Counts, event: Event, alive: int) -> None:
    """A loss that leaves `alive` units doesn't make a tug test of some of them one of all, unless
    it is of the same day: who looks at what lives takes out the dead as well."""
    if counts.tested < alive + event.units and event.day != counts.tested_on:
        counts.tested = min(counts.tested, max(alive - 1, 0))
        counts.held = min(counts.held, counts.tested)


def _look(counts: Counts, finished: int, day: date) -> None:
    """What it says that somebody handled the lot, of whose pots `finished` ever finished."""
    counts.seen_on = day
    # Nobody pots up what has not rooted: half potted is half struck.
    if counts.struck_on is None and 0 < counts.units_potted >= counts.cells:
        counts.struck_on = day
    if counts.finished_on is None:
        if 0 < finished >= counts.pots_growing + counts.cells:
            counts.finished_on = day
        else:
            counts.finished_after = day


def _need(event: Event, what: str, has: int, wants: int) -> None:
    if wants > has:
        raise Impossible(event, what, has, wants)


def stage(counts: Counts) -> str:
    """Where a stuck lot stands, in one word."""
    if not (counts.cells or counts.pots_growing or counts.pots_finished):
        return "closed"
    if counts.finished_on:
        return "finished"
    if counts.units_potted:
        return "growing"
    return "struck" if counts.struck_on else "stuck"
