"""Where everything on one tag goes, for a label of any shape.

The QR stands at the left (on a tall label at the foot), the text beside it: the name at the top,
the code at the foot. A stock's usual tag sets the QR's size and that of the small print, so that
the tags of a sheet match; a long name breaks before its cultivar, shrinks, then wraps. What the
floors of the type leave no room for is left out in a fixed order, and said.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cache, partial
from itertools import product
from operator import itemgetter
from typing import Any

from labels import fit, passport, qr, typeface
from labels.compose import NAME, Room, Text, compose
from labels.sentences import Sentence
from labels.stock import Box, LabelStock, usable
from labels.tag import Tag, plain

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
"""What a tag usually says, for sizes that suit most tags of a stock."""

GAP = 1.0
"""Millimetres between the QR's square and the text."""

EDGE = 1.0
"""Millimetres to the label's edge that even a QR's quiet zone keeps."""

ROOMIEST_QR = 26.0
"""Millimetres beyond which a larger QR reads no better at a bench (quiet zone included)."""

GOOD_SCALE = 0.2
"""A scale of the usual tag's type that is good enough to look no further for a smaller QR."""

FAIR_SCALE = 0.1
"""A scale at which another tag of the stock keeps the usual tag's arrangement: they match."""

PARTING_GAINS = 0.3
"""How much larger type must become before facts, or a name's two halves, take more lines than one,
unless it would be small without."""

LEAVE_OUT = {
    "nursery": "Left out for want of room: the nursery's line.",
    "flat": "Left out for want of room: the flat.",
    "initials": "Left out for want of room: the initials.",
    "notices": "Left out for want of room: the notices.",
    "count": "Left out for want of room: the count.",
    "method": "Left out for want of room: the method.",
    "stuck_on": "Left out for want of room: the date.",
}
"""What is left out for want of room, in this order, and what is said then: name, code and QR never
are."""

NO_PASSPORT = Sentence(
    "There is no room for the plant passport: it is left out. Choose a larger label."
)

type Fitted = tuple[float, Room, list[Text]]
"""The scale of the type, the room and the lines with which a tag fits a label."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn on one label, and what a person should know before it is printed.

    `shortened` if not even the whole name has room; `frame` is a plant passport's.
    """

    texts: tuple[Text, ...]
    symbol: qr.Symbol
    qr_x: float
    qr_y: float
    shortened: bool = False
    frame: passport.Frame | None = None
    problems: tuple[Sentence, ...] = ()


def draw(tag: Tag, stock: LabelStock) -> Drawing:
    """The drawing of a tag on a label of a stock. Raises `qr.TooSmallError`."""
    drawing = _with_passport(tag, stock) or _drawn(tag, stock)
    problems = [*_letters(tag)]
    if tag.passport and drawing.frame is None:
        problems.append(NO_PASSPORT)
    return replace(drawing, problems=(*problems, *drawing.problems))


def _with_passport(tag: Tag, stock: LabelStock) -> Drawing | None:
    """The tag beside its plant passport; None if there is no room for the passport and the name."""
    framed = passport.frame(tag, stock, min(EDGE, stock.padding))
    if framed is None:
        return None
    frame, rest = framed
    try:
        drawing = _drawn(tag, rest)
    except qr.TooSmallError:
        return None
    if drawing.shortened:
        return None
    return replace(drawing, frame=frame, texts=(*drawing.texts, *frame.texts))


def _drawn(tag: Tag, stock: LabelStock) -> Drawing:
    """The tag without its passport."""
    rooms, details = _plan(stock, qr.version(tag.address, "H"))
    tag, fitted, left_out = _with_what_fits(tag, partial(_best, rooms, FAIR_SCALE, details))
    problems = [Sentence(LEAVE_OUT[field]) for field in left_out]
    if fitted is None:
        room = rooms[-1]
        texts, kept = _shortened(tag, room)
        problems.append(
            Sentence(
                "The name %(name)s is too long for this label even at %(floor)d pt: it is printed "
                "as “%(kept)s”. Choose a larger label or a shorter name.",
                name=plain(tag.name),
                floor=NAME.floor,
                kept=kept,
            )
        )
    else:
        _, room, texts = fitted
    symbol = qr.symbol(tag.address, room.square.width)
    return Drawing(
        tuple(texts),
        symbol,
        room.square.x,
        room.square.y,
        shortened=fitted is None,
        problems=tuple(problems),
    )


def _letters(tag: Tag) -> Iterator[Sentence]:
    """A sentence if the typeface lacks letters that the tag needs."""
    framed = (tag.passport.words, tag.passport.operator) if tag.passport else ()
    facts = (tag.method, tag.count, tag.initials, tag.flat, *tag.notices, tag.nursery, *framed)
    if missing := typeface.lacks("".join((plain(tag.name), *facts))):
        yield Sentence(
            "%(name)s can't be printed as it is: the tag's typeface has no %(letters)s, and "
            "“%(stand_in)s” is printed in place. Write it in Latin, Greek or Cyrillic letters.",
            name=plain(tag.name),
            letters=" ".join(missing),
            stand_in=typeface.STAND_IN,
        )


def _with_what_fits(
    tag: Tag, fit_in: Callable[[Tag], Fitted | None]
) -> tuple[Tag, Fitted | None, list[str]]:
    """The tag with as many of its facts as fit, how they fit, and the fields left out."""
    whole, fitted = tag, fit_in(tag)
    left_out: list[str] = []
    for field in LEAVE_OUT:
        if fitted is None and getattr(tag, field):
            tag = _without(tag, field)
            left_out.append(field)
            fitted = fit_in(tag)
    for field in left_out[-2::-1]:  # the last to go may have made room for some before it
        fuller = replace(tag, **{field: getattr(whole, field)})
        if fitted is not None and (found := fit_in(fuller)) is not None:
            tag, fitted = fuller, found
            left_out.remove(field)
    return tag, fitted, left_out


def _without(tag: Tag, field: str) -> Tag:
    """The tag with a field as it stands when there is nothing to say."""
    nothing: dict[str, Any] = {f.name: f.default for f in fields(Tag) if f.name == field}
    return replace(tag, **nothing)


@cache
def _plan(stock: LabelStock, version: int) -> tuple[tuple[Room, ...], float]:
    """The ways to divide a label, the one that suits the usual tag first, and that one's scale.

    `version` is the symbol's at correction H.
    """
    rooms = tuple(_rooms(stock, version))
    tried = [(fit.largest(partial(compose, USUAL, room)), room) for room in rooms]
    unparted = [(found[0], room) for found, room in tried if found and found[0] >= FAIR_SCALE]
    good = [one for one in unparted if one[0] >= GOOD_SCALE]
    usual: tuple[Any, ...] | None
    if unparted:
        usual = good[0] if good else max(unparted, key=itemgetter(0))
    else:
        usual = _best(rooms, GOOD_SCALE, 1.0, USUAL)
    if usual is None:
        return rooms, 0.0
    scale, best = usual[:2]
    return (best, *(room for room in rooms if room != best)), scale


def _rooms(stock: LabelStock, version: int) -> Iterator[Room]:
    """Ways to divide a label: the largest QR first, down to one with good modules at level H."""
    text, outer = usable(stock), usable(stock, min(EDGE, stock.padding))
    tall = outer.height > 1.25 * outer.width
    good = (qr.modules(version) + 2 * qr.QUIET) * qr.GOOD_MM
    most = min(outer.width, outer.height, ROOMIEST_QR)
    wished = min(most, max(good, 0.5 * outer.height if tall else 0.42 * outer.width))
    least = min(most, good)
    for side in dict.fromkeys((wished, (wished + least) / 2, least)):
        if tall:
            left = outer.x + (outer.width - side) / 2
            square = Box(left, outer.y + outer.height - side, side, side)
            yield Room(square, replace(text, height=square.y - text.y))
            continue
        square = Box(outer.x, outer.y + (outer.height - side) / 2, side, side)
        left = square.x + side + GAP
        box = replace(text, x=left, width=text.x + text.width - left)
        if box.width > 3 * box.height:
            yield Room(square, box, beside=True)
        yield Room(square, box)


def _best(rooms: tuple[Room, ...], enough: float, details: float, tag: Tag) -> Fitted | None:
    """The first room in which the type's scale is enough, or else the one where it is largest.

    The small print gives way before the room does: it starts at the scale `details`. None if the
    tag does not fit in any room, even at the floor.
    """
    best: Fitted | None = None
    for room, small in product(rooms, (details, details / 2, 0.0)):
        whole = fit.largest(partial(compose, tag, room, details=small))
        parted = fit.largest(partial(compose, tag, room, details=small, parted=True))
        if parted is None:
            continue
        least = max(parted[0] - PARTING_GAINS, min(parted[0], details, GOOD_SCALE))
        scale, texts = whole if whole and whole[0] >= least else parted
        if scale >= enough:
            return scale, room, texts
        if best is None or scale > best[0]:
            best = scale, room, texts
    return best


def _shortened(tag: Tag, room: Room) -> tuple[list[Text], str]:
    """The tag with as much of its name as fits at the floor, and the name as it then reads."""
    runs = list(tag.name)
    while runs:
        text, italic = runs.pop()
        for end in range(len(text) - 1, -1, -1):
            short = (*runs, (text[:end].rstrip() + "…", italic))
            texts = compose(replace(tag, name=short), room, 0.0, parted=True)
            if texts is not None:
                return texts, plain(short)
    return [], ""
