"""How a label is divided between QR, name and the rest, so that each reads from where it is read.

The name is read from a metre away: it takes the room that is there, and yields only a little of it
for the rest to grow. A stock's usual tag settles the arrangement and the size of the small print,
so that the tags of a sheet match; a tag whose name would be small in it gets what suits it best.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, partial
from itertools import product
from operator import attrgetter

from labels import fit, qr
from labels.compose import DAY, NAME, Room, Text, Where, compose
from labels.stock import Box, LabelStock, usable
from labels.tag import Tag

USUAL = Tag(
    name=(("Begonia ", True), ("'Silver Moth'", False)),
    code="M4D8WA",
    address="",
    stuck_on=date(2026, 11, 22),
    method="Stem section",
    count="48 × 1",
    initials="MW",
    flat="B12-04",
)
"""What a tag usually says, for an arrangement that suits most tags of a stock."""

GAP = 1.0
"""Millimetres between the QR's square and the text."""

EDGE = 1.0
"""Millimetres to the label's edge that even a QR's quiet zone keeps."""

LEAST_WHITE = 0.3
"""Millimetres to the label's edge that text keeps: the tail of a letter may leave its line."""

ROOMIEST_QR = 26.0
"""Millimetres beyond which a larger QR reads no better at a bench (quiet zone included)."""

STEPS = 17
"""Sizes of a name from the floor to the largest, each an eighth larger than the one before."""

DETAILS = (1.0, 0.75, 0.5, 0.25, 0.0)
"""Scales of the type that is not the name's, the largest first."""

LARGE = 18.0
"""Points at which a name reads from a metre away: no other arrangement is looked for."""

LARGER = 1.2
"""How much larger a name must become for a tag to leave the usual arrangement."""

HALVES = 0.88
"""The share of the largest size at which a name rather keeps its halves on a line each."""

PARTED = 0.8
"""What facts on more lines than they need are worth."""

YIELDS = 0.88
"""The share of the largest size that a name keeps when the rest is given its room."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way to set a tag: the room, the scale of its details, whether facts may break."""

    room: Room
    details: float
    parted: bool

    @property
    def worth(self) -> float:
        """How well all but the name reads."""
        whole = 1.0 if not self.parted or self.room.where == Where.ALL_BESIDE else PARTED
        return whole * DAY.size(self.details) * float(self.room.square.width**0.75)


@dataclass(frozen=True, slots=True)
class Fitted:
    """How a tag fits a label: the way it is set, its name's size in points, and its lines."""

    way: Way
    size: float
    texts: list[Text]


def best(stock: LabelStock, version: int, tag: Tag) -> Fitted | None:
    """How a tag is set on a stock; None if it does not fit in any way, even at the floor.

    `version` is the QR's at correction H.
    """
    usual = _usual(stock, version)
    found = _set(tag, usual.way) if usual else None
    if found is None or _is_larger_elsewhere(tag, rooms(stock, version), found.size):
        side = usual.way.room.square.width if usual else ROOMIEST_QR
        found = _best(tag, [room for room in rooms(stock, version) if room.square.width <= side])
    return _halved(tag, found) if found else _chopped(tag, stock, version)


def _is_larger_elsewhere(tag: Tag, rooms: Iterable[Room], size: float) -> bool:
    wished = LARGER * size
    return size < LARGE and any(_composed(tag, Way(room, 0.0, True), wished) for room in rooms)


@cache
def rooms(stock: LabelStock, version: int) -> tuple[Room, ...]:
    """The ways to divide a label: the largest QR first, down to one of good modules at level H."""
    return tuple(_rooms(stock, version))


@cache
def _usual(stock: LabelStock, version: int) -> Fitted | None:
    """How the usual tag is set best on a stock."""
    return _best(USUAL, rooms(stock, version))


def _best(tag: Tag, rooms: Iterable[Room]) -> Fitted | None:
    """The way in which the rest reads best while the name is nearly as large as it can be."""
    ways = [Way(*way) for way in product(rooms, DETAILS, (False, True))]
    ways.sort(key=attrgetter("worth"))
    largest: Fitted | None = None
    # None lets a name be larger than those with the least details, broken where they have to be.
    for way in (way for way in ways if way.details == DETAILS[-1] and way.parted):
        if largest is None or _composed(tag, way, 1.001 * largest.size):
            largest = _set(tag, way) or largest
    if largest is None:
        return None
    least = YIELDS * largest.size
    for way in reversed(ways):
        if _composed(tag, way, max(least, NAME.floor)):
            found = _set(tag, way)
            if found and found.size >= least:
                return found
    return largest


def _size(scale: float) -> float:
    return NAME.floor * float((NAME.largest / NAME.floor) ** scale)


def _composed(tag: Tag, way: Way, size: float, *, halves: bool = False) -> list[Text] | None:
    return compose(tag, way.room, size, details=way.details, parted=way.parted, halves=halves)


def _set(tag: Tag, way: Way) -> Fitted | None:
    """The tag with its name as large as it can be in one way."""
    found = fit.largest(lambda scale: _composed(tag, way, _size(scale)), STEPS)
    return Fitted(way, _size(found[0]), found[1]) if found else None


def _halved(tag: Tag, found: Fitted) -> Fitted:
    """The same, with a line for each half of the name if it need hardly be smaller for that."""
    largest = round(found.size, 6)
    for step in range(STEPS, -1, -1):
        size = _size(step / STEPS)
        if size > largest + 1e-6:
            continue
        if size < HALVES * found.size:
            break
        texts = _composed(tag, found.way, size, halves=True)
        if texts is not None:
            return Fitted(found.way, size, texts)
    return found


def _chopped(tag: Tag, stock: LabelStock, version: int) -> Fitted | None:
    """The tag with a word of its name parted, which no size of type leaves whole."""
    for room in rooms(stock, version):
        way = Way(room, 0.0, parted=True)
        texts = compose(tag, room, NAME.floor, details=0.0, parted=True, chopped=True)
        if texts is not None:
            return Fitted(way, NAME.floor, texts)
    return None


def _rooms(stock: LabelStock, version: int) -> Iterator[Room]:
    white = max(stock.padding, LEAST_WHITE)
    text, outer = usable(stock, white), usable(stock, min(EDGE, stock.padding))
    tall = outer.height > 1.25 * outer.width
    good = (qr.modules(version) + 2 * qr.QUIET) * qr.GOOD_MM
    most = min(outer.width, outer.height, ROOMIEST_QR)
    wished = min(most, max(good, 0.5 * outer.height if tall else 0.42 * outer.width))
    least = min(most, good)
    for side in dict.fromkeys((wished, (wished + least) / 2, least)):
        if tall:
            left = outer.x + (outer.width - side) / 2
            square = Box(left, outer.y + outer.height - side, side, side)
            yield Room(square, replace(text, height=square.y - text.y), white)
            continue
        square = Box(outer.x, outer.y + (outer.height - side) / 2, side, side)
        left = square.x + side + GAP
        box = replace(text, x=left, width=text.x + text.width - left)
        room = partial(Room, square, box, white)
        if box.width > 2 * box.height:
            yield room(Where.ALL_BESIDE)
        if box.width > 3 * box.height:
            yield room(Where.CODE_BESIDE)
        yield room(Where.FOOT)
