"""Where everything on one tag goes: QR, lines of text and their sizes, for a label of any shape.

The QR stands at the left (on a tall label at the bottom), the text beside it: the name at the top,
the code at the foot. All text shrinks together, from the largest sizes to the floors; the name
breaks before its cultivar if that keeps the type large. What the floors leave no room for is left
out in a fixed order, and said.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any

from labels import fit, qr, typeface
from labels.fit import MM_A_POINT, Line, Word
from labels.stock import Box, LabelStock, usable
from labels.tag import Tag, day_line, grouped, plain


@dataclass(frozen=True)
class Style:
    """Sizes in points, from the floor to the largest; the line's height as a multiple of them."""

    floor: float
    largest: float
    leading: float

    def size(self, scale: float) -> float:
        return self.floor + scale * (self.largest - self.floor)


# Floors for reading at arm's length: common practice for labels, no source.
NAME = Style(8, 20, 1.1)
CODE = Style(8, 14, 1.1)
DAY = Style(6, 11, 1.3)
FACTS = Style(6, 10, 1.3)
SMALL = Style(5.5, 8, 1.25)

SEPARATOR = " · "
GAP = 1.0
"""Millimetres between blocks that stand side by side."""

ROOMIEST_QR = 26.0
"""A QR of more millimetres than this scans no better at a bench."""

READY = 0.3
"""A scale that is good enough to look no further for another arrangement."""

LEAVE_OUT = {
    "nursery": "the nursery's line",
    "flat": "the flat",
    "initials": "the initials",
    "notices": "the notices",
    "count": "the count",
    "method": "the method",
    "stuck_on": "the date",
}
"""What is left out for want of room, in this order, and its name. Name, code and QR never are."""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text: its box in millimetres from the label's corner, its size in points."""

    line: Line
    x: float
    y: float
    width: float
    height: float
    size: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn on one label, and what a person should know before it is printed."""

    texts: tuple[Text, ...]
    symbol: qr.Symbol
    qr_x: float
    qr_y: float
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Room:
    """One way to divide a label: the QR's square, the text's box, and the code's own column."""

    square: Box
    text: Box
    beside: bool


def draw(tag: Tag, stock: LabelStock) -> Drawing:
    """The drawing of a tag on a label of a stock. Raises `qr.TooSmallError`."""
    problems = [*_letters(tag)]
    rooms = list(_rooms(tag.address, usable(stock)))
    left_out: list[str] = []
    fitted = _best(tag, rooms)
    for field in LEAVE_OUT:
        if fitted is not None:
            break
        if getattr(tag, field):
            left_out.append(field)
            tag = _without(tag, field)
            fitted = _best(tag, rooms)
    if left_out:
        named = ", ".join(LEAVE_OUT[field] for field in left_out)
        problems.append(f"Left out for want of room: {named}.")
    if fitted is None:
        room = rooms[-1]
        texts, kept = _shortened(tag, room)
        problems.append(
            f"The name {plain(tag.name)} is too long for this label even at {NAME.floor:g} pt: "
            f"it is printed as “{kept}”. Choose a larger label or a shorter name."
        )
    else:
        room, texts = fitted
    symbol = qr.symbol(tag.address, room.square.width)
    return Drawing(tuple(texts), symbol, room.square.x, room.square.y, tuple(problems))


def _without(tag: Tag, field: str) -> Tag:
    """The tag with a field as it stands when there is nothing to say."""
    nothing = next(f.default for f in fields(Tag) if f.name == field)
    changes: dict[str, Any] = {field: nothing}
    return replace(tag, **changes)


def _letters(tag: Tag) -> Iterator[str]:
    """A sentence if the typeface lacks letters that the tag needs."""
    said = (
        plain(tag.name),
        tag.method,
        tag.count,
        tag.initials,
        tag.flat,
        *tag.notices,
        tag.nursery,
    )
    if missing := typeface.lacks("".join(said)):
        yield (
            f"The tag's typeface has no {' '.join(missing)}: “{typeface.STAND_IN}” is printed in "
            "place. Write it in Latin, Greek or Cyrillic letters."
        )


def _rooms(address: str, box: Box) -> Iterator[Room]:
    """Ways to divide a label, the preferred ones first."""
    tall = box.height > 1.25 * box.width
    most = min(box.width, box.height, ROOMIEST_QR)
    good = (qr.modules(qr.version(address, "H")) + 2 * qr.QUIET) * qr.GOOD_MM
    share = 0.5 * box.height if tall else 0.42 * box.width
    for side in dict.fromkeys((min(most, max(share, good)), min(most, good))):
        if tall:
            square = Box(box.x, box.y + box.height - side, side, side)
            yield Room(square, Box(box.x, box.y, box.width, box.height - side), beside=False)
            continue
        square = Box(box.x, box.y + (box.height - side) / 2, side, side)
        text = Box(box.x + side + GAP, box.y, box.width - side - GAP, box.height)
        if text.width > 3 * text.height:
            yield Room(square, text, beside=True)
        yield Room(square, text, beside=False)


def _best(tag: Tag, rooms: list[Room]) -> tuple[Room, list[Text]] | None:
    """The first room in which the tag is large enough, or else the one in which it is largest."""
    found: list[tuple[float, Room, list[Text]]] = []
    for room in rooms:
        whole = fit.largest(partial(_compose, tag, room, parted=False))
        parted = fit.largest(partial(_compose, tag, room, parted=True))
        if parted is None:
            continue
        scale, texts = whole if whole and whole[0] >= parted[0] - READY else parted
        if scale >= READY:
            return room, texts
        found.append((scale, room, texts))
    if not found:
        return None
    _, room, texts = max(found, key=lambda one: one[0])
    return room, texts


def _mm(ems: float, size: float) -> float:
    return ems * size * MM_A_POINT


def _ems(mm: float, size: float) -> float:
    return mm / (size * MM_A_POINT)


def _set(line: str, face: str = "regular") -> Line:
    return ((typeface.drawable(line), face),)


def _name(tag: Tag) -> tuple[Word, ...]:
    return fit.words(
        tuple(
            (typeface.drawable(text), "bold-italic" if italic else "bold")
            for text, italic in tag.name
        )
    )


def _name_lines(name: tuple[Word, ...], room: float, *, parted: bool) -> list[Line] | None:
    """The name's lines in `room` ems. Not parted: on one line, or one more for the cultivar."""
    first = next((i for i, w in enumerate(name) if i and w.pieces[0][0][0] in "'‘"), len(name))
    all_in = fit.wrap(name, room)
    heads, tails = fit.wrap(name[:first], room), fit.wrap(name[first:], room)
    if all_in is None or heads is None or tails is None:
        return None
    lines = heads + tails if len(heads + tails) <= len(all_in) else all_in
    if not parted and len(lines) > 1 and (len(heads) > 1 or len(tails) > 1):
        return None
    return [fit.joined(line) for line in lines]


def _items(items: tuple[str, ...], room: float) -> list[Line] | None:
    """Short items on lines, parted by a dot within a line; one too wide is parted at a space."""
    parts = [Word(_set(item), fit.width(_set(item))) for item in items if item]
    lines = fit.wrap(parts, room, SEPARATOR)
    if lines is not None:
        return [((SEPARATOR.join(w.pieces[0][0] for w in line), "regular"),) for line in lines]
    lines = fit.wrap(fit.words(_set(SEPARATOR.join(item for item in items if item))), room)
    return None if lines is None else [fit.joined(line) for line in lines]


def _compose(tag: Tag, room: Room, scale: float, *, parted: bool) -> list[Text] | None:
    """The tag's lines at a scale, or None if they do not fit."""
    box = room.text
    code, flat = _set(grouped(tag.code), "bold"), _set(tag.flat, "bold")
    code_size = CODE.size(scale)
    code_width, flat_width = (_mm(fit.width(line), code_size) for line in (code, flat))
    code_height = _mm(CODE.leading, code_size)
    texts: list[Text] = []
    foot = box.y + box.height - code_height
    if room.beside:
        column = max(code_width, flat_width)
        rows = [line for line in (code, flat) if line[0][0]]
        top = box.y + (box.height - len(rows) * code_height) / 2
        texts = [
            Text(line, box.x, top + i * code_height, column, code_height, code_size)
            for i, line in enumerate(rows)
        ]
        if len(rows) * code_height > box.height:
            return None
        box = Box(box.x + column + 2 * GAP, box.y, box.width - column - 2 * GAP, box.height)
        foot = box.y + box.height
    else:
        if max(code_width, flat_width) > box.width:
            return None
        texts = [Text(code, box.x, foot, code_width, code_height, code_size)]
        if tag.flat:
            if code_width + GAP + flat_width > box.width:
                foot -= code_height
                texts.append(Text(flat, box.x, foot, flat_width, code_height, code_size))
            else:
                texts.append(
                    Text(
                        flat,
                        box.x + box.width - flat_width,
                        foot,
                        flat_width,
                        code_height,
                        code_size,
                        right=True,
                    )
                )
    y = box.y
    for style, lines in _blocks(tag, box.width, scale, parted=parted):
        if lines is None:
            return None
        size = style.size(scale)
        height = _mm(style.leading, size)
        for line in lines:
            texts.append(Text(line, box.x, y, box.width, height, size))
            y += height
    return texts if y <= foot + 1e-9 else None


def _blocks(
    tag: Tag, width: float, scale: float, *, parted: bool
) -> Iterator[tuple[Style, list[Line] | None]]:
    """The lines above the code, a block at a time; None for one that is too wide."""
    name, room = _name(tag), _ems(width, NAME.size(scale))
    if parted and scale == 0:
        name = tuple(fit.chop(name, room))
    yield NAME, _name_lines(name, room, parted=parted)
    yield DAY, _items(day_line(tag), _ems(width, DAY.size(scale)))
    facts = (tag.method, tag.count, tag.initials)
    yield FACTS, _items(facts, _ems(width, FACTS.size(scale)))
    room = _ems(width, SMALL.size(scale))
    for small in (*tag.notices, tag.nursery):
        yield SMALL, _items((small,), room)


def _shortened(tag: Tag, room: Room) -> tuple[list[Text], str]:
    """The tag with as many words of its name as fit at the floor, and the name as it then reads."""
    runs = list(tag.name)
    while runs:
        text, italic = runs.pop()
        for end in range(len(text) - 1, -1, -1):
            short = (*runs, (text[:end].rstrip() + "…", italic))
            texts = _compose(replace(tag, name=short), room, 0.0, parted=True)
            if texts is not None:
                return texts, plain(short)
    symbol_only: list[Text] = []
    return symbol_only, ""
