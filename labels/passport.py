"""The EU plant passport on a label: its frame, flag, words and letters A to D.

Contents and their places: Regulation (EU) 2016/2031, Annex VII, Part A (1): the flag of the Union
in the upper left corner, "Plant Passport" in the upper right in an official language and, if that
is another, in English after a slash, then the letters. Implementing Regulation (EU) 2017/2313,
Article 2: all of it in a rectangle or square, legible without visual aid, with a border line or
otherwise clearly parted from what else is on the label. It leaves size and typeface free.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from math import cos, pi, sin

from labels import fit, typeface
from labels.compose import MM_A_POINT, Style, Text
from labels.fit import Line
from labels.stock import Box, LabelStock, usable
from labels.tag import Passport, Runs, Tag

TYPE = Style(6, 9, 1.25)
"""6 points at least: legible without visual aid (common practice, no source)."""

INSIDE = 0.8
"""Millimetres from the border line to what stands in it."""

APART = 1.0
"""Millimetres between the frame and the rest of the tag."""

SHARES = (0.3, 0.35, 0.4, 0.45, 0.5, 0.55)
"""Shares of a label that the frame may take, the least first."""

ENGLISH = "Plant Passport"


@dataclass(frozen=True, slots=True)
class Frame:
    """The border line, the flag in it, and the lines of text, in mm from the label's corner."""

    border: Box
    flag: Box
    texts: tuple[Text, ...]


def frames(tag: Tag, stock: LabelStock, edge: float) -> Iterator[tuple[Frame, LabelStock]]:
    """The passport on a label, each time with the stock whose place for it is kept free.

    At the foot of a label and at its right end, as small as it reads; none where there is no room.
    `edge` are the millimetres that a QR keeps from the edge of what is left.
    """
    if tag.passport is None:
        return
    room = usable(stock)
    apart = max(APART, stock.padding - edge)
    for share in SHARES:
        taken = share * room.height
        box = Box(room.x, room.y + room.height - taken, room.width, taken)
        found = fit.largest(partial(_composed, tag.passport, tag.name, box))
        if found is not None:
            yield found[1], _with(stock, {"free_bottom": stock.free_bottom + taken + apart})
            break
    for share in SHARES:
        taken = share * room.width
        box = Box(room.x + room.width - taken, room.y, taken, room.height)
        found = fit.largest(partial(_composed, tag.passport, tag.name, box))
        if found is not None:
            yield found[1], _with(stock, {"free_right": stock.free_right + taken + apart})
            break


def _with(stock: LabelStock, strips: dict[str, float]) -> LabelStock:
    return LabelStock(**(vars(stock) | strips))


def _composed(passport: Passport, name: Runs, box: Box, scale: float) -> Frame | None:
    """The passport in a box at a scale of its type; None if it does not fit."""
    size = TYPE.size(scale)
    line = TYPE.height * size * MM_A_POINT
    x, y, width = box.x + INSIDE, box.y + INSIDE, box.width - 2 * INSIDE
    flag = Box(x, y, 3 * line, 2 * line)  # the flag is half as wide again as it is high
    right = x + flag.width + INSIDE
    heads = _title(passport, x + width - right, size)
    lines = _letters(passport, name, width, size)
    if heads is None or lines is None:
        return None
    texts = [
        Text(head, right, y + i * line, x + width - right, line, size, right=True)
        for i, head in enumerate(heads)
    ]
    top = y + flag.height + INSIDE / 2
    texts += [Text(one, x, top + i * line, width, line, size) for i, one in enumerate(lines)]
    height = top + len(lines) * line + INSIDE - box.y
    if height > box.height:
        return None
    return Frame(Box(box.x, box.y, box.width, height), flag, tuple(texts))


def _title(passport: Passport, width: float, size: float) -> list[Line] | None:
    """ "Plant Passport" in both languages: on one line, or on two that part after the slash."""
    words = (f"{passport.words} /", ENGLISH) if passport.words else (ENGLISH,)
    for lines in ((" ".join(words),), words):
        set_lines = [_drawable(((line, "bold"),)) for line in lines]
        if max(map(fit.width, set_lines)) * size * MM_A_POINT <= width:
            return set_lines
    return None


def _letters(passport: Passport, name: Runs, width: float, size: float) -> list[Line] | None:
    """The lines of the letters: A alone, B, C and D together where there is room."""
    botanical = ((text, "bold-italic" if italic else "regular") for text, italic in name)
    found = _wrapped((("A. ", "regular"), *botanical), width, size)
    marks = [("B", passport.operator), ("C", passport.trace), ("D", passport.origin)]
    facts = [((f"{letter}. {said}", "regular"),) for letter, said in marks if said]
    words = [fit.Word(_drawable(fact), fit.width(_drawable(fact))) for fact in facts]
    rows = fit.wrap(words, width / (size * MM_A_POINT), "   ")
    if found is None or rows is None:
        return None
    return found + [(("   ".join(word.pieces[0][0] for word in row), "regular"),) for row in rows]


def _wrapped(line: Line, width: float, size: float) -> list[Line] | None:
    lines = fit.wrap(fit.words(_drawable(line)), width / (size * MM_A_POINT))
    return None if lines is None else [fit.joined(parts) for parts in lines]


def _drawable(line: Line) -> Line:
    return tuple((typeface.drawable(text), face) for text, face in line)


def stars(flag: Box) -> Iterator[list[tuple[float, float]]]:
    """The corners of the twelve stars, in mm: on a circle whose radius is a third of the flag's
    height, each in a circle of an eighteenth, upright (interinstitutional style guide of the EU,
    annex A1, from memory)."""
    middle_x, middle_y = flag.x + flag.width / 2, flag.y + flag.height / 2
    ring, outer = flag.height / 3, flag.height / 18
    inner = outer * sin(pi / 10) / sin(3 * pi / 10)
    for star in range(12):
        x = middle_x + ring * sin(star * pi / 6)
        y = middle_y - ring * cos(star * pi / 6)
        corners = []
        for corner in range(10):
            radius = inner if corner % 2 else outer
            corners.append((x + radius * sin(corner * pi / 5), y - radius * cos(corner * pi / 5)))
        yield corners
