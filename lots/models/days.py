"""Days of the book: none so far off that reckoning with it leaves the calendar; and their weeks
(ISO 8601)."""

from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

YEARS = range(1800, 3000)


def check_day(day: date) -> None:
    """Raise ValidationError for a day outside YEARS, as a slip of the finger makes it."""
    if day.year not in YEARS:
        raise ValidationError(
            _("The year %(year)s can't be meant; write one from %(first)s to %(last)s."),
            code="year",
            params={"year": day.year, "first": YEARS[0], "last": YEARS[-1]},
        )


def monday_of(day: date) -> date:
    """The first day of a day's week."""
    return day - timedelta(days=day.weekday())


def iso_week(day: date) -> str:
    """The week of a day, like 2026-W49."""
    year, week, _weekday = day.isocalendar()
    return f"{year}-W{week:02}"
