"""The lines of text on one tag at a given scale: their words, sizes and places."""

from dataclasses import dataclass
from functools import cache

from labels import fit, typeface
from labels.fit import Line, Word
from labels.stock import Box
from labels.tag import Tag, day_line, grouped

MM_A_POINT = 25.4 / 72


@dataclass(frozen=True)
class Style:
    """Sizes in points, from the floor to the largest, and the height of a line in ems.

    `above` is the white over the first line, in ems.
    """

    floor: float
    largest: float
    height: float
    above: float = 0.0

    def size(self, scale: float) -> float:
        return self.floor + scale * (self.largest - self.floor)

    def scale(self, size: float) -> float:
        return (size - self.floor) / (self.largest - self.floor)


# Floors for reading at arm's length: common practice for labels, no source.
NAME = Style(8, 26, 1.08)
CODE = Style(8, 16, 1.12)
DAY = Style(6.5, 12, 1.25, above=0.25)
FACTS = Style(6, 11, 1.25)
SMALL = Style(5.5, 9, 1.2, above=0.25)

SEPARATOR = " · "

BESIDE = 2.5
"""Millimetres between the code and the name where they stand side by side."""

CODE_WIDTH = "M4D-8WA"
"""A wide code: where the code has a column of its own, it is at least as wide as this."""


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
class Room:
    """One way to divide a label: the QR's square, the text's box, and the code's own column."""

    square: Box
    text: Box
    beside: bool = False


def compose(
    tag: Tag, room: Room, scale: float, *, details: float = 1.0, parted: bool = False
) -> list[Text] | None:
    """The tag's lines with the name at `scale` (0 the floor, 1 the largest), or None if too large.

    All but the name is set at the scale `details`, or smaller if the code would else be larger than
    the name. Not `parted`: every fact has one line, and the name one more at most, before its
    cultivar.
    """
    small = min(details, CODE.scale(NAME.size(scale)))
    placed = (
        _code_beside(tag, room.text, small)
        if room.beside
        else _code_at_foot(tag, room.text, small, parted=parted)
    )
    if placed is None:
        return None
    texts, box = placed
    lines = _name_lines(tag, box.width, NAME.size(scale), scale == 0, parted=parted)
    feet = _facts(tag, box.width, small, parted=parted)
    if lines is None or feet is None:
        return None
    size, height = NAME.size(scale), _mm(NAME.height, NAME.size(scale))
    head = box.y
    for line in lines:
        texts.append(Text(line, box.x, head, box.width, height, size))
        head += height
    # The facts stand on the foot, so that they have the same place on every tag of a stock.
    foot = box.y + box.height
    for style, first, line in reversed(feet):
        size = style.size(small)
        height = _mm(style.height, size)
        foot -= height
        texts.append(Text(line, box.x, foot, box.width, height, size))
        foot -= _mm(style.above, size) if first else 0
    return texts if head <= foot + 1e-9 else None


def _mm(ems: float, size: float) -> float:
    return ems * size * MM_A_POINT


def _ems(mm: float, size: float) -> float:
    return mm / (size * MM_A_POINT)


def _code_at_foot(
    tag: Tag, box: Box, scale: float, *, parted: bool
) -> tuple[list[Text], Box] | None:
    """The code at the foot with the flat at its right, and the box left for the rest.

    Parted, the flat may have a line of its own above the code.
    """
    size, height = CODE.size(scale), _mm(CODE.height, CODE.size(scale))
    code, flat = _set(grouped(tag.code), "bold"), _set(tag.flat, "bold")
    code_width, flat_width = _mm(fit.width(code), size), _mm(fit.width(flat), size)
    foot = box.y + box.height - height
    texts = [Text(code, box.x, foot, box.width, height, size)]
    beside = code_width + _mm(0.5, size) + flat_width <= box.width
    if max(code_width, flat_width) > box.width or not (beside or parted):
        return None
    if tag.flat:
        foot -= 0 if beside else height
        texts.append(Text(flat, box.x, foot, box.width, height, size, right=beside))
    return texts, Box(box.x, box.y, box.width, foot - box.y - _mm(0.2, size))


def _code_beside(tag: Tag, box: Box, scale: float) -> tuple[list[Text], Box] | None:
    """The code over the flat in a column at the left, and the box left for the rest."""
    size, height = CODE.size(scale), _mm(CODE.height, CODE.size(scale))
    lines = [_set(text, "bold") for text in (grouped(tag.code), tag.flat) if text]
    column = _mm(max(fit.width(line) for line in (*lines, _set(CODE_WIDTH, "bold"))), size)
    left = Box(box.x + column + BESIDE, box.y, box.width - column - BESIDE, box.height)
    if len(lines) * height > box.height or left.width <= 0:
        return None
    top = box.y + (box.height - len(lines) * height) / 2
    texts = [
        Text(line, box.x, top + i * height, column, height, size) for i, line in enumerate(lines)
    ]
    return texts, left


def _facts(
    tag: Tag, width: float, scale: float, *, parted: bool
) -> list[tuple[Style, bool, Line]] | None:
    """The lines between name and code, each with its style and whether it starts a block.

    None if one is too wide.
    """
    day, facts = day_line(tag), tuple(f for f in (tag.method, tag.count, tag.initials) if f)
    if parted and _items(day, _ems(width, DAY.size(scale)), parted=False) is None:
        day, facts = (), day + facts  # the date runs on into the facts, which saves a line
    smalls = [(SMALL, (line,)) for line in (*tag.notices, tag.nursery) if line]
    found: list[tuple[Style, bool, Line]] = []
    for style, items in ((DAY, day), (FACTS, facts), *smalls):
        lines = _items(items, _ems(width, style.size(scale)), parted=parted)
        if lines is None:
            return None
        found += [(style, i == 0, line) for i, line in enumerate(lines)]
    return found


@cache
def _set(text: str, face: str = "regular") -> Line:
    return ((typeface.drawable(text), face),)


def _name_lines(
    tag: Tag, width: float, size: float, floor: bool, *, parted: bool
) -> list[Line] | None:
    """The name's lines in `width` mm; at the floor, a word wider than that is parted as well."""
    room = _ems(width, size)
    faces = (
        (typeface.drawable(text), "bold-italic" if italic else "bold") for text, italic in tag.name
    )
    name = fit.words(tuple(faces))
    if parted and floor:
        name = tuple(fit.chop(name, room))
    cultivar = next((i for i, w in enumerate(name) if i and w.pieces[0][0][0] in "'‘"), len(name))
    whole = fit.wrap(name, room)
    heads, tails = fit.wrap(name[:cultivar], room), fit.wrap(name[cultivar:], room)
    if whole is None or heads is None or tails is None:
        return None
    lines = whole if len(whole) < len(heads) + len(tails) else heads + tails
    if len(lines) > 1 and not parted and max(len(heads), len(tails)) > 1:
        return None
    return [fit.joined(line) for line in lines]


def _items(items: tuple[str, ...], room: float, *, parted: bool) -> list[Line] | None:
    """Short items on one line with dots between; parted, on as many as it takes."""
    words = [Word(_set(item), fit.width(_set(item))) for item in items]
    lines = fit.wrap(words, room, SEPARATOR)
    if lines is not None and (parted or len(lines) <= 1):
        return [_set(SEPARATOR.join(word.pieces[0][0] for word in line)) for line in lines]
    if not parted:
        return None
    lines = fit.wrap(fit.words(_set(SEPARATOR.join(items))), room)
    return None if lines is None else [fit.joined(line) for line in lines]
