"""The QR symbol of a tag (ISO/IEC 18004): small, coarse, and as hard to spoil as the room allows.

The address goes in upper case, so that it fits the alphanumeric mode: 5.5 bits a character in place
of 8, one version less, bigger modules.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from qrcode import constants, util
from qrcode.main import QRCode

from labels.sentences import Sentence, SentenceError

QUIET = 4
"""Modules kept white on each side (ISO/IEC 18004)."""

GOOD_MM = 0.33
"""A module that phones and a 300 dpi thermal printer (4 dots, 0.339 mm) manage with ease."""

LEAST_MM = 0.25
"""Under this a module is too small for a phone at a bench: no symbol is made."""

LEVELS = {
    "H": constants.ERROR_CORRECT_H,
    "Q": constants.ERROR_CORRECT_Q,
    "M": constants.ERROR_CORRECT_M,
    "L": constants.ERROR_CORRECT_L,
}
"""Correction levels, strongest first."""

MASK = 3
"""The mask is given, not searched for: any of the eight is allowed, and the search takes most of
the time. This one has the lowest mean penalty over lot addresses of the eight."""

type Matrix = tuple[tuple[bool, ...], ...]


@dataclass(frozen=True)
class Symbol:
    """A QR symbol: `modules` a side without the quiet zone, each `module_mm` wide."""

    version: int
    level: str
    modules: int
    module_mm: float
    matrix: Matrix

    @property
    def side_mm(self) -> float:
        """The side with its quiet zone, in millimetres."""
        return (self.modules + 2 * QUIET) * self.module_mm


class TooSmallError(SentenceError):
    """No correction level gives a module of `LEAST_MM` in the room."""


def payload(address: str) -> str:
    """What the symbol holds: the address in upper case."""
    return address.upper()


def modules(version: int) -> int:
    """Modules a side of a version: 21 for version 1, four more for each further one."""
    return 17 + 4 * version


def mode(address: str) -> int:
    """The one mode in which the whole address is written, never split in segments."""
    return int(util.optimal_mode(payload(address).encode()))


@cache
def _version(length: int, written: int, level: str) -> int:
    filler = {util.MODE_NUMBER: b"0", util.MODE_ALPHA_NUM: b"A"}.get(written, b"a") * length
    code = QRCode(error_correction=LEVELS[level])
    code.add_data(util.QRData(filler, mode=written, check_data=False))
    return int(code.best_fit())


def version(address: str, level: str) -> int:
    """The least version that holds the address at a correction level."""
    return _version(len(payload(address).encode()), mode(address), level)


def sizes(address: str, room_mm: float) -> dict[str, tuple[int, float]]:
    """For each level, strongest first: the version, and the module in a square of `room_mm`.

    The room includes the quiet zone.
    """
    found = {level: version(address, level) for level in LEVELS}
    return {level: (v, room_mm / (modules(v) + 2 * QUIET)) for level, v in found.items()}


def choose(address: str, room_mm: float) -> str:
    """The strongest level whose module is `GOOD_MM` or more; else the one with the largest module.

    Of levels with equally large modules the strongest is taken. Raises `TooSmallError`.
    """
    by_level = sizes(address, room_mm)
    for level, (_, module) in by_level.items():
        if module >= GOOD_MM:
            return level
    largest = max(by_level, key=lambda level: by_level[level][1])
    v, module = by_level[largest]
    if module < LEAST_MM:
        raise TooSmallError(
            Sentence(
                "The QR has %(room).1f mm of room, which makes its squares %(module).2f mm; they "
                "need %(least)s mm. Choose a label with at least %(side).1f mm of room for the "
                "QR, or a shorter address than %(address)s (%(length)d characters).",
                room=room_mm,
                module=module,
                least=LEAST_MM,
                side=(modules(v) + 2 * QUIET) * LEAST_MM,
                address=payload(address),
                length=len(address),
            )
        )
    return largest


def symbol(address: str, room_mm: float) -> Symbol:
    """The symbol for an address in a square of `room_mm` (quiet zone included).

    Raises `TooSmallError` if no level gives a module of `LEAST_MM`.
    """
    level = choose(address, room_mm)
    v, module = sizes(address, room_mm)[level]
    code = QRCode(version=v, error_correction=LEVELS[level], mask_pattern=MASK, border=0)
    code.add_data(util.QRData(payload(address).encode(), mode=mode(address), check_data=False))
    code.make(fit=False)
    matrix = tuple(tuple(bool(dark) for dark in row) for row in code.modules)
    return Symbol(v, level, len(matrix), module, matrix)


RECOVERS = {"L": 7, "M": 15, "Q": 25, "H": 30}
"""Share of a symbol's codewords that a level restores, in per cent (ISO/IEC 18004, nominal)."""


def advice(address: str, room_mm: float) -> tuple[Sentence, ...]:
    """Which symbol results in the room, and what would give a better one, in sentences.

    Raises `TooSmallError`, whose sentence is the advice then.
    """
    level = choose(address, room_mm)
    by_level = sizes(address, room_mm)
    v, module = by_level[level]
    return (
        Sentence(
            "Version %(version)d, %(side)d × %(side)d squares of %(module).2f mm.",
            version=v,
            side=modules(v),
            module=module,
        ),
        Sentence(
            "Correction %(level)s, which restores about %(share)d %%.",
            level=level,
            share=RECOVERS[level],
        ),
        *_wishes(address, room_mm, level),
    )


def _wishes(address: str, room_mm: float, level: str) -> Iterator[Sentence]:
    """What would give a better symbol than that of a level, in sentences."""
    by_level = sizes(address, room_mm)
    v, module = by_level[level]
    if level != "H":
        yield Sentence(
            "With %(side).1f mm of room for the QR it would be correction H.",
            side=(modules(by_level["H"][0]) + 2 * QUIET) * GOOD_MM,
        )
    if module < GOOD_MM:
        yield Sentence(
            "Squares under %(good)s mm are hard for a phone: %(side).1f mm of room would give it.",
            good=GOOD_MM,
            side=(modules(v) + 2 * QUIET) * GOOD_MM,
        )
    if mode(address) == util.MODE_8BIT_BYTE:
        odd = sorted({c for c in payload(address) if c.encode() not in util.ALPHA_NUM})
        yield Sentence(
            "The address has %(signs)s, which takes more room: an address of letters, digits and "
            ". : / - gives larger squares.",
            signs=" ".join(odd),
        )
    elif (shorter := _longest(v - 1, level)) and v > 1:
        yield Sentence(
            "An address of at most %(shorter)d characters (this has %(length)d) would give "
            "squares of %(module).2f mm at the same correction.",
            shorter=shorter,
            length=len(address),
            module=room_mm / (modules(v - 1) + 2 * QUIET),
        )


def _longest(v: int, level: str) -> int:
    """The most alphanumeric characters that a version holds at a level; 0 for no such version."""
    length = 0
    while v > 0 and _version(length + 1, util.MODE_ALPHA_NUM, level) <= v:
        length += 1
    return length
