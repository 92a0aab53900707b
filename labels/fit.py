"""Setting words in a room: where lines break, and how large they can be.

A line is a tuple of pieces, each a text and the face it is set in. Widths are in ems until a size
is chosen, so that trying one costs a few sums.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby

from labels import typeface

type Line = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Word:
    """What no line break parts: its pieces, and its width in ems."""

    pieces: Line
    width: float


@cache
def words(line: Line) -> tuple[Word, ...]:
    """A line parted at its spaces; a word may change its face half-way."""
    found: list[Word] = []
    letters = [(c, face) for text, face in line for c in text]
    for is_space, group in groupby(letters, key=lambda letter: letter[0].isspace()):
        if not is_space:
            pieces = tuple(
                ("".join(c for c, _ in run), face)
                for face, run in groupby(group, key=lambda letter: letter[1])
            )
            found.append(Word(pieces, width(pieces)))
    return tuple(found)


def width(line: Line) -> float:
    """Width of a line in ems."""
    return sum(typeface.width(text, face) for text, face in line)


def joined(parts: Sequence[Word]) -> Line:
    """Words as one line, with spaces between; a space takes the face of the word before it."""
    pieces: list[tuple[str, str]] = []
    for i, word in enumerate(parts):
        if i:
            text, face = pieces[-1]
            pieces[-1] = (text + " ", face)
        for text, face in word.pieces:
            if pieces and pieces[-1][1] == face:
                pieces[-1] = (pieces[-1][0] + text, face)
            else:
                pieces.append((text, face))
    return tuple(pieces)


def wrap(parts: Sequence[Word], room: float, separator: str = " ") -> list[list[Word]] | None:
    """Words on as few lines as hold them in `room` ems; None if one word is wider than the room."""
    gap = typeface.width(separator, "bold")
    lines: list[list[Word]] = []
    left = -1.0
    for word in parts:
        if word.width > room:
            return None
        if left >= gap + word.width:
            lines[-1].append(word)
            left -= gap + word.width
        else:
            lines.append([word])
            left = room - word.width
    return lines


def chop(parts: Sequence[Word], room: float) -> list[Word]:
    """The words, with those wider than the room parted wherever it is full."""
    whole: list[Word] = []
    for word in parts:
        if word.width <= room:
            whole.append(word)
            continue
        part: list[tuple[str, str]] = []
        for letter in ((c, face) for text, face in word.pieces for c in text):
            if part and width((*part, letter)) > room:
                whole.append(Word(tuple(part), width(tuple(part))))
                part = []
            part.append(letter)
        whole.append(Word(tuple(part), width(tuple(part))))
    return whole


def largest[T](attempt: Callable[[float], T | None], steps: int = 9) -> tuple[float, T] | None:
    """The largest of `steps` + 1 even scales from 0 to 1 at which an attempt comes off.

    Takes it that what comes off at one scale does so at every smaller one. None if not even at 0.
    """
    low, high = 0, steps
    best = attempt(0.0)
    if best is None:
        return None
    while low < high:
        middle = (low + high + 1) // 2
        found = attempt(middle / steps)
        if found is None:
            high = middle - 1
        else:
            low, best = middle, found
    return low / steps, best
