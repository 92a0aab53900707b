"""The tag's typeface: where its files are, how wide its letters are, what it lacks.

Atkinson Hyperlegible Next, with Noto Sans for the scripts that it does not have. Both are shipped
in `fonts/` and embedded in every PDF, so a tag looks the same from every machine.
"""

from functools import cache
from itertools import groupby
from pathlib import Path
from unicodedata import normalize

from fontTools.ttLib import TTFont

FOLDER = Path(__file__).with_name("fonts")

FAMILIES = (
    "atkinson-hyperlegible-next-latin",
    "atkinson-hyperlegible-next-latin-ext",
    "noto-sans-cyrillic",
    "noto-sans-greek",
    "noto-sans-vietnamese",
)
"""In the order in which a letter is looked for."""

ALIKE = FAMILIES[:2]
"""Those of one design: their letters share a line without moving it."""

FACES = {"regular": "400-normal", "bold": "700-normal", "bold-italic": "700-italic"}

STAND_IN = "?"
"""Printed in place of a letter that no family has."""


def file(family: str, face: str) -> Path:
    return FOLDER / f"{family}-{FACES[face]}.woff2"


@cache
def _advances(face: str, families: tuple[str, ...] = FAMILIES) -> dict[int, float]:
    """Advance width of each character, in ems."""
    found: dict[int, float] = {}
    for family in families:
        with TTFont(file(family, face)) as font:
            em = font["head"].unitsPerEm
            widths = font["hmtx"].metrics
            for character, glyph in font.getBestCmap().items():
                found.setdefault(character, widths[glyph][0] / em)
    return found


@cache
def width(text: str, face: str) -> float:
    """Width of a text in ems, without kerning (which draws letters together, so: at most)."""
    advances = _advances(face)
    return sum(advances[ord(c)] for c in text)


@cache
def is_alike(text: str, face: str) -> bool:
    """Whether all letters of a text are of one design."""
    advances = _advances(face, ALIKE)
    return all(ord(c) in advances for c in text)


@cache
def by_family(text: str, face: str) -> tuple[tuple[str, str], ...]:
    """The text in pieces, each with the family that has its letters, the first where none does."""

    def family(letter: str) -> str:
        return next((f for f in FAMILIES if ord(letter) in _advances(face, (f,))), FAMILIES[0])

    return tuple((name, "".join(letters)) for name, letters in groupby(text, key=family))


def lacks(text: str) -> str:
    """The characters of a text that no family has, each once, in order."""
    advances = _advances("bold")
    return "".join(dict.fromkeys(c for c in normalize("NFC", text) if ord(c) not in advances))


def drawable(text: str) -> str:
    """The text in composed form, with a stand-in for every character that no family has."""
    advances = _advances("bold")
    return "".join(c if ord(c) in advances else STAND_IN for c in normalize("NFC", text))
