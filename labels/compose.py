"""The lines of text on one tag at given sizes: their words and places."""

from dataclasses import dataclass
from enum import Enum
from functools import cache, lru_cache

from labels import fit, typeface
from labels.fit import Line, Word
from labels.stock import Box
from labels.tag import Runs, Tag, day_line, grouped

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
NAME = Style(8, 60, 1.08)
CODE = Style(8, 16, 1.12)
DAY = Style(6.5, 12, 1.25, above=0.25)
FACTS = Style(6, 11, 1.25)
SMALL = Style(5.5, 9, 1.2, above=0.25)

SEPARATOR = " · "

ACCENT = 0.15
"""Ems by which the tallest accents rise above their line."""

BESIDE = 2.5
"""Millimetres between the name and the code in a column beside it."""

ALL_BESIDE = 4.0
"""Millimetres between the name and a column whose lines run up to its edge."""

CODE_WIDTH = "M4D-8WA"
"""A wide code: where the code has a column of its own, it is at least as wide as this."""

DAY_WIDTH = "Stuck 28 Nov 2026 · W48"
"""A wide day: where the facts have a column of their own, it is at least as wide as this."""


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


class Where(Enum):
    """Where the code stands, and where the facts."""

    FOOT = "the code at the foot, the facts above it"
    CODE_BESIDE = "the code in a column beside the name, the facts under the name"
    ALL_BESIDE = "code and facts in a column, and the name alone beside it"


@dataclass(frozen=True, slots=True)
class Room:
    """One way to divide a label: the QR's square, the text's box, and what stands where in it.

    `white` are the millimetres over the text's box that an accent may rise into.
    """

    square: Box
    text: Box
    white: float
    where: Where = Where.FOOT


type Column = tuple[Style, bool, Line]
"""A line that is not the name's: its style, whether it starts a block, and its words."""


def compose(
    tag: Tag,
    room: Room,
    size: float,
    *,
    details: float = 1.0,
    parted: bool = False,
    halves: bool = False,
    chopped: bool = False,
) -> list[Text] | None:
    """The tag's lines with the name in `size` points, or None if that is too large.

    All but the name is set at the scale `details` (0 the floor, 1 the largest), or smaller if the
    code would else be larger than the name. Not `parted`: every fact has one line. In `halves`:
    the name has one line, or two that part before its cultivar. `chopped`: a word wider than the
    room is parted, as the last resort.
    """
    small = min(details, CODE.scale(size))
    placed = _placed(tag, room, small, parted)
    if placed is None:
        return None
    texts, box = [*placed[0]], placed[1]
    lines = _name_lines(tag.name, box.width, size, halves=halves, chopped=chopped)
    if lines is None:
        return None
    height = _mm(NAME.height, size)
    head = max(0.0, _mm(ACCENT, size) - room.white)
    spare = box.height - head - len(lines) * height
    if spare < -1e-9:
        return None
    head += box.y + (spare / 2 if room.where == Where.ALL_BESIDE else 0)
    for line in lines:
        texts.append(Text(line, box.x, head, box.width, height, size))
        head += height
    return texts


@lru_cache(maxsize=64)  # a tag is tried with its name in many sizes, and little else changes
def _placed(tag: Tag, room: Room, scale: float, parted: bool) -> tuple[list[Text], Box] | None:
    """All but the name, and the box that is left for it."""
    place = {
        Where.FOOT: _code_at_foot,
        Where.CODE_BESIDE: _code_beside,
        Where.ALL_BESIDE: _all_beside,
    }[room.where]
    return place(tag, room.text, scale, parted)


def _mm(ems: float, size: float) -> float:
    return ems * size * MM_A_POINT


def _ems(mm: float, size: float) -> float:
    return mm / (size * MM_A_POINT)


def _code_at_foot(tag: Tag, box: Box, scale: float, parted: bool) -> tuple[list[Text], Box] | None:
    """The code at the foot with the flat at its right, the facts above, and the name's box.

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
    return _on_foot(
        tag, Box(box.x, box.y, box.width, foot - box.y - _mm(0.2, size)), scale, parted, texts
    )


def _code_beside(tag: Tag, box: Box, scale: float, parted: bool) -> tuple[list[Text], Box] | None:
    """The code over the flat in a column at the left, the facts under the name, and its box."""
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
    return _on_foot(tag, left, scale, parted, texts)


def _on_foot(
    tag: Tag, box: Box, scale: float, parted: bool, texts: list[Text]
) -> tuple[list[Text], Box] | None:
    """The facts on the foot of a box: they have the same place on every tag of a stock."""
    facts = _facts(tag, box.width, scale, parted)
    if facts is None:
        return None
    foot = box.y + box.height - _height(facts, scale)
    texts += _stacked(facts, box, foot, scale)
    return texts, Box(box.x, box.y, box.width, foot - box.y)


def _all_beside(tag: Tag, box: Box, scale: float, parted: bool) -> tuple[list[Text], Box] | None:
    """Code, flat and facts in a column at the left, and the box left for the name."""
    if not parted:
        return None
    size = CODE.size(scale)
    code, flat = _set(grouped(tag.code), "bold"), _set(tag.flat, "bold")
    widest = max(_mm(fit.width(line), size) for line in (code, flat))
    column = max(widest, _mm(fit.width(_set(DAY_WIDTH)), DAY.size(scale)))
    facts = _facts(tag, column, scale, parted)
    left = Box(box.x + column + ALL_BESIDE, box.y, box.width - column - ALL_BESIDE, box.height)
    if facts is None or left.width <= 0:
        return None
    together = _mm(fit.width(code) + fit.width(flat) + 0.5, size) <= column
    heads = [code] if together or not tag.flat else [code, flat]
    height = _mm(CODE.height, size)
    spare = box.height - len(heads) * height - _height(facts, scale)
    if spare < 0:
        return None
    top = box.y + spare / 2
    texts = [
        Text(line, box.x, top + i * height, column, height, size) for i, line in enumerate(heads)
    ]
    if together and tag.flat:
        texts.append(Text(flat, box.x, top, column, height, size, right=True))
    narrow = Box(box.x, box.y, column, box.height)
    return texts + _stacked(facts, narrow, top + len(heads) * height, scale), left


def _height(facts: list[Column], scale: float) -> float:
    return sum(_mm(s.height + (s.above if first else 0), s.size(scale)) for s, first, _ in facts)


def _stacked(facts: list[Column], box: Box, top: float, scale: float) -> list[Text]:
    """Lines one under the other, as wide as a box."""
    texts = []
    for style, first, line in facts:
        size = style.size(scale)
        top += _mm(style.above, size) if first else 0
        texts.append(Text(line, box.x, top, box.width, _mm(style.height, size), size))
        top += _mm(style.height, size)
    return texts


def _facts(tag: Tag, width: float, scale: float, parted: bool) -> list[Column] | None:
    """The lines that say neither name nor code; None if one is too wide."""
    said = (tag.method, tag.count, tag.initials, tag.place)
    day, facts = day_line(tag), tuple(fact for fact in said if fact)
    if parted and _items(day, _ems(width, DAY.size(scale)), parted=False) is None:
        day, facts = (), day + facts  # the date runs on into the facts, which saves a line
    smalls = [(SMALL, (line,)) for line in (*tag.notices, tag.nursery) if line]
    found: list[Column] = []
    for style, items in ((DAY, day), (FACTS, facts), *smalls):
        lines = _items(items, _ems(width, style.size(scale)), parted=parted)
        if lines is None:
            return None
        found += [(style, i == 0, line) for i, line in enumerate(lines)]
    return found


@cache
def _set(text: str, face: str = "regular") -> Line:
    return ((typeface.drawable(text), face),)


@lru_cache(maxsize=64)
def _words_of(name: Runs) -> tuple[Word, ...]:
    return fit.words(
        tuple(
            (typeface.drawable(text), "bold-italic" if italic else "bold") for text, italic in name
        )
    )


@lru_cache(maxsize=4096)  # a sheet has a name on more tags than one
def _name_lines(
    runs: Runs, width: float, size: float, *, halves: bool, chopped: bool
) -> tuple[Line, ...] | None:
    """The name's lines in `width` mm."""
    room = _ems(width, size)
    name = _words_of(runs)
    if chopped:
        name = tuple(fit.chop(name, room))
    cultivar = next((i for i, w in enumerate(name) if i and w.pieces[0][0][0] in "'‘"), len(name))
    whole = fit.wrap(name, room)
    heads, tails = fit.wrap(name[:cultivar], room), fit.wrap(name[cultivar:], room)
    if whole is None or heads is None or tails is None:
        return None
    lines = whole if len(whole) < len(heads) + len(tails) else heads + tails
    if halves and len(lines) > 1 and max(len(heads), len(tails)) > 1:
        return None
    return tuple(fit.joined(line) for line in lines)


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
