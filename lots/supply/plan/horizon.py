"""The weeks of a plan."""

from dataclasses import dataclass
from datetime import date, timedelta

WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class Horizon:
    """So many ISO weeks from that of `today` on, counted from 0."""

    today: date
    weeks: int

    @property
    def monday(self) -> date:
        return self.today - timedelta(days=self.today.weekday())

    def first(self, week: int) -> date:
        """The first day of a week that is left."""
        return max(self.monday + week * WEEK, self.today)

    def last(self, week: int) -> date:
        """The last day of a week: what holds for lots stuck on it holds for the whole week."""
        return self.monday + week * WEEK + timedelta(days=6)

    def of(self, day: date) -> int:
        """The week of a day; less than 0 for one before the plan, and `weeks` or more for one
        after it."""
        return (day - self.monday).days // 7

    def after(self, week: int, days: float) -> int:
        """The week so many days after the last day of a week."""
        return self.of(self.last(week) + timedelta(days=round(days)))

    def name(self, week: int) -> str:
        return iso_week(self.monday + week * WEEK)


def iso_week(day: date) -> str:
    """The ISO week of a day, like 2026-W49."""
    year, week, _weekday = day.isocalendar()
    return f"{year}-W{week:02}"
