"""The kinds of cell: how each is read and how it is shown.

Nothing is guessed: a cell that could mean two things is refused with what would be right. Both
ways drop spaces at the ends of a text, so that what goes out comes in again as it was.
"""

import re
import unicodedata
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation

from django.utils import timezone
from django.utils.translation import gettext as _

from lots import codes

# A cell that begins with one of these can be taken for a formula
# (OWASP, "CSV Injection"). The apostrophe is ours: it marks a cell that was made safe.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
SHIELD = "'"
# What the columns of the database can hold.
INTEGER, SMALL_INTEGER = 2_147_483_647, 32_767
EPOCH = date(1899, 12, 30)  # day 0 of the spreadsheets' own day numbers
YEARS = range(1800, 3000)


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


def text(most: int | None = None, read: Callable[[str], str] = str) -> Kind:
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

    return Kind(parse, str.strip, "")


def key(most: int | None = None, read: Callable[[str], str] = str) -> Kind:
    """The name of a row of another table, or of this one."""
    return Kind(text(most, read).parse, str.strip)


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


def _yes_no(cell: str) -> bool:
    answer = {"yes": True, "no": False}.get(cell.lower())
    if answer is None:
        raise Wrong(_("“%(cell)s” is neither yes nor no") % {"cell": short(cell)})
    return answer


def yes_no() -> Kind:
    return Kind(_yes_no, lambda value: "yes" if value else "no")


def choice(values: Iterable[str]) -> Kind:
    allowed = {value: value for value in values}

    def parse(cell: str) -> str:
        if (value := allowed.get(cell.lower())) is None:
            raise Wrong(
                _("“%(cell)s” is none of these: %(allowed)s")
                % {"cell": short(cell), "allowed": ", ".join(allowed)}
            )
        return value

    return Kind(parse)


ISO_DAY = re.compile(r"([0-9]{4})-[0-9]{2}-[0-9]{2}")
SLASHED = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})")
SERIAL = re.compile(r"[0-9]{5}([.,][0-9]+)?")


def _day(cell: str) -> date:
    try:
        if ISO_DAY.fullmatch(cell) and int(cell[:4]) in YEARS:
            return date.fromisoformat(cell)
    except ValueError:
        pass
    raise Wrong(_not_a_day(cell))


def _not_a_day(cell: str) -> str:
    if match := SLASHED.fullmatch(cell):
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        year += 2000 if year < 100 else 0
        readings = sorted(
            {
                f"{year:04}-{month:02}-{day:02}"
                for day, month in ((first, second), (second, first))
                if month <= 12 and 1 <= day <= 31
            }
        )
        if len(readings) == 2:
            return _("“%(cell)s” can be read two ways; write %(one)s or %(other)s") % {
                "cell": cell,
                "one": readings[1],
                "other": readings[0],
            }
        if readings:
            return _("“%(cell)s” is not how dates are written here; write %(right)s") % {
                "cell": cell,
                "right": readings[0],
            }
    if SERIAL.fullmatch(cell):
        days = int(re.split("[.,]", cell)[0])
        return _(
            "“%(cell)s” is a spreadsheet's own number for a day; format the column as "
            "YYYY-MM-DD before saving (it may mean %(right)s)"
        ) % {"cell": cell, "right": (EPOCH + timedelta(days=days)).isoformat()}
    if ISO_DAY.match(cell) and len(cell) > 10 and cell[10] in "T ":
        return _("“%(cell)s” has a time of day; write the day alone, like 2026-03-02") % {
            "cell": short(cell)
        }
    return _("“%(cell)s” is no day; write one as YYYY-MM-DD, like 2026-03-02") % {
        "cell": short(cell)
    }


def day() -> Kind:
    return Kind(_day, date.isoformat)


def _moment(cell: str) -> datetime:
    try:
        if not ISO_DAY.match(cell) or int(cell[:4]) not in YEARS:
            raise ValueError
        moment = datetime.fromisoformat(cell)
    except ValueError as fault:
        raise Wrong(
            _("“%(cell)s” is no moment; write one like 2026-03-02T14:30:00+00:00")
            % {"cell": short(cell)}
        ) from fault
    if moment.tzinfo is None:
        right = timezone.make_aware(moment)
        raise Wrong(
            _(
                "“%(cell)s” doesn't say how far from UTC the clock was; write %(right)s if it was "
                "the nursery's time"
            )
            % {"cell": short(cell), "right": right.isoformat()}
        )
    return moment.astimezone(timezone.get_current_timezone())


def moment() -> Kind:
    return Kind(_moment, lambda moment: timezone.localtime(moment).isoformat())


def short(cell: str) -> str:
    """A cell as a sentence quotes it: on one line, and not without end."""
    line = "".join(char if char.isprintable() else "�" for char in cell)
    return line if len(line) <= 60 else line[:59] + "…"
