"""The kinds of cell that hold a day or a moment."""

import re
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from lots.csvbook.cells import Kind, Wrong, short
from lots.models.days import YEARS, iso_week

EPOCH = date(1899, 12, 30)  # day 0 of the spreadsheets' own day numbers
ISO_DAY = re.compile(r"([0-9]{4})-[0-9]{2}-[0-9]{2}")
ISO_WEEK = re.compile(r"([0-9]{4})-[Ww][0-9]{2}")
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


def _week(cell: str) -> date:
    try:
        if ISO_WEEK.fullmatch(cell) and int(cell[:4]) in YEARS:
            return date.fromisoformat(cell.upper())
    except ValueError:
        pass
    says = _("“%(cell)s” is no ISO week; write one like 2026-W49") % {"cell": short(cell)}
    try:
        right = iso_week(_day(cell))
    except Wrong:
        raise Wrong(says) from None
    raise Wrong(
        _("“%(cell)s” is a day; write its ISO week, %(right)s") % {"cell": cell, "right": right}
    )


def week() -> Kind:
    """An ISO week (ISO 8601), kept as its Monday."""
    return Kind(_week, iso_week)


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
