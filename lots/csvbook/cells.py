"""The kinds of cell: how each is read and how it is shown.

Nothing is guessed: a cell that could mean two things is refused with what would be right. Both
ways drop spaces at the ends of a text, so that what goes out comes in again as it was.
"""

import json
import re
import unicodedata
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.utils.translation import gettext as _

from lots import codes

# A cell that begins with one of these can be taken for a formula
# (OWASP, "CSV Injection"). The apostrophe is ours: it marks a cell that was made safe.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
SHIELD = "'"
# What the columns of the database can hold.
INTEGER, SMALL_INTEGER = 2_147_483_647, 32_767


class Wrong(ValueError):
    """A cell that can't be taken; the text says why, and what would be right."""


@dataclass(frozen=True)
class Kind:
    """`parse` takes a text that is not empty and may raise Wrong; an empty cell is `empty`."""

    parse: Callable[[str], object]
    show: Callable[[object], str] = str
    empty: object = None


def shown(kind: Kind, value: object) -> str:
    """The cell of a value, as a person reads it."""
    return "" if value is None else kind.show(value)


def shield(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return SHIELD + cell if cell.startswith((*FORMULA, SHIELD)) else cell


def unshield(cell: str) -> str:
    """Undo `shield`, and nothing else: an apostrophe that somebody typed stays."""
    return cell[1:] if cell.startswith(SHIELD) and cell[1:].startswith((*FORMULA, SHIELD)) else cell


def text(most: int | None = None, read: Callable[[str], str] = str, empty: str | None = "") -> Kind:
    def parse(cell: str) -> str:
        cell = read(cell)
        if "\0" in cell:
            raise Wrong(_("there is a character in it that no book can hold (NUL); take it out"))
        if most is not None and len(cell) > most:
            raise Wrong(
                _("%(length)s characters are too many; it may have %(most)s")
                % {"length": len(cell), "most": most}
            )
        return cell

    return Kind(parse, str.strip, empty)


def key(most: int | None = None, read: Callable[[str], str] = str) -> Kind:
    """The name of a row of another table, or of this one."""
    return text(most, read, empty=None)


def sign_in_name() -> Kind:
    """As Django keeps sign-in names: in the normal form NFKC."""
    return key(40, lambda cell: unicodedata.normalize("NFKC", cell))


def _lot_code(cell: str) -> str:
    try:
        return codes.read(cell)
    except codes.NotACode as fault:
        says = {
            "length": _("“%(cell)s” is no lot code: one has 6 letters and digits, like 7K3-QFY"),
            "character": _("“%(cell)s” is no lot code: it has a character that codes never have"),
            "check": _("“%(cell)s” is a mistyped lot code: its check character doesn't fit"),
        }[fault.fault]
        raise Wrong(says % {"cell": short(cell)}) from fault


def lot_code() -> Kind:
    return Kind(_lot_code)


def _uuid(cell: str) -> uuid.UUID:
    try:
        return uuid.UUID(cell)
    except ValueError as fault:
        raise Wrong(
            _("“%(cell)s” is no UUID; leave the cell empty to have one made")
            % {"cell": short(cell)}
        ) from fault


def uid() -> Kind:
    return Kind(_uuid)


DIGITS = re.compile(r"[0-9]+")
GROUPED = re.compile(r"[0-9]{1,3}(?:[., '’\u00a0\u202f][0-9]{3})+")
ROUND = re.compile(r"([0-9]+)[.,]0+")


def whole(least: int = 0, most: int = INTEGER) -> Kind:
    def parse(cell: str) -> int:
        if not DIGITS.fullmatch(cell):
            raise Wrong(_not_whole(cell))
        number = int(cell) if len(cell) <= 20 else most + 1
        if not least <= number <= most:
            raise Wrong(
                _("%(cell)s is out of range: a whole number from %(least)s to %(most)s")
                % {"cell": short(cell), "least": least, "most": most}
            )
        return number

    return Kind(parse)


def _not_whole(cell: str) -> str:
    if GROUPED.fullmatch(cell):
        right = re.sub(r"[^0-9]", "", cell)
        return _("“%(cell)s” has a thousands separator; write %(right)s") % {
            "cell": cell,
            "right": right,
        }
    if match := ROUND.fullmatch(cell):
        return _("“%(cell)s” has decimals; write %(right)s") % {
            "cell": short(cell),
            "right": match[1],
        }
    return _("“%(cell)s” is no whole number; write digits only, like 48") % {"cell": short(cell)}


def decimal(digits: int, places: int, least: int) -> Kind:
    """A number with at most so many digits, so many of them after the point."""

    def parse(cell: str) -> Decimal:
        if re.fullmatch(r"[0-9]+,[0-9]+", cell):
            raise Wrong(
                _("“%(cell)s” has a decimal comma; write %(right)s")
                % {"cell": short(cell), "right": short(cell.replace(",", "."))}
            )
        try:
            if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", cell):
                raise InvalidOperation
            number = Decimal(cell)
        except InvalidOperation as fault:
            raise Wrong(
                _("“%(cell)s” is no number; write one like 10.5") % {"cell": short(cell)}
            ) from fault
        most = Decimal(10) ** (digits - places) - Decimal(10) ** -places
        if not least <= number <= most or number != round(number, places):
            raise Wrong(
                _(
                    "%(cell)s doesn't fit: a number from %(least)s to %(most)s with at most "
                    "%(places)s decimal place"
                )
                % {"cell": short(cell), "least": least, "most": most, "places": places}
            )
        return number

    return Kind(parse, lambda number: f"{number.normalize():f}")


def number(least: float, most: float) -> Kind:
    """A number that is measured, stored as the nearest that a machine has."""

    def parse(cell: str) -> float:
        if re.fullmatch(r"-?[0-9]+,[0-9]+", cell):
            raise Wrong(
                _("“%(cell)s” has a decimal comma; write %(right)s")
                % {"cell": short(cell), "right": short(cell.replace(",", "."))}
            )
        if not re.fullmatch(r"-?[0-9]{1,20}(\.[0-9]{1,40})?", cell):
            raise Wrong(_("“%(cell)s” is no number; write one like 10.5") % {"cell": short(cell)})
        if not least <= float(cell) <= most:
            raise Wrong(
                _("%(cell)s is out of range: a number from %(least)s to %(most)s")
                % {"cell": short(cell), "least": least, "most": most}
            )
        return float(cell)

    return Kind(parse, lambda value: f"{Decimal(repr(float(value))).normalize():f}")


def share() -> Kind:
    """A share between 0 and 1, neither of them."""
    of = number(0, 1)

    def parse(cell: str) -> float:
        found = of.parse(cell)
        if not 0 < found < 1:
            raise Wrong(_("%(cell)s is no share between 0 and 1, like 0.9") % {"cell": short(cell)})
        return found

    return Kind(parse, of.show)


def _json(cell: str) -> object:
    try:
        if "\\u0000" in cell:
            raise ValueError
        return json.loads(cell)
    except (ValueError, RecursionError) as fault:
        raise Wrong(
            _("“%(cell)s” is no JSON; leave it as it was exported") % {"cell": short(cell)}
        ) from fault


def as_json() -> Kind:
    return Kind(_json, lambda value: json.dumps(value, ensure_ascii=False, sort_keys=True))


def drawing(letters: str) -> Kind:
    """Which letter was drawn for each cell of some flats: a word a flat, like ABBA BAAB."""

    def parse(cell: str) -> list[str]:
        flats = cell.split()
        if set("".join(flats)) != set(letters):
            raise Wrong(_("“%(cell)s” is no drawing like ABBA BAAB") % {"cell": short(cell)})
        return flats

    return Kind(parse, " ".join)


def _yes_no(cell: str) -> bool:
    answer = {"yes": True, "no": False}.get(cell.lower())
    if answer is None:
        raise Wrong(_("“%(cell)s” is neither yes nor no") % {"cell": short(cell)})
    return answer


def yes_no() -> Kind:
    return Kind(_yes_no, lambda value: "yes" if value else "no")


def choice(values: Iterable[str], empty: str | None = None) -> Kind:
    """One of some words; `empty` is the one that an empty cell stands for."""
    allowed = {value.lower(): value for value in values}

    def parse(cell: str) -> str:
        if (value := allowed.get(cell.lower())) is None:
            raise Wrong(
                _("“%(cell)s” is none of these: %(allowed)s")
                % {"cell": short(cell), "allowed": ", ".join(allowed.values())}
            )
        return value

    return Kind(parse, lambda value: "" if value == empty else str(value), empty)


def short(cell: str) -> str:
    """A cell as a sentence quotes it: on one line, and not without end."""
    line = "".join(char if char.isprintable() else "�" for char in cell)
    return line if len(line) <= 60 else line[:59] + "…"
