"""The weeks of a plan."""

from dataclasses import dataclass
from datetime import date, timedelta

from lots.models.days import iso_week, monday_of
from lots.supply.weeks import WEEK


@dataclass(frozen=True, slots=True)
class Horizon:
    """So many ISO weeks from that of `today` on, counted from 0."""

    today: date
    weeks: int

    @property
    def monday(self) -> date:
        return monday_of(self.today)

    def starts(self, week: int) -> date:
        """The Monday of a week."""
        return self.monday + week * WEEK

    def first(self, week: int) -> date:
        """The first day of a week that is left."""
        return max(self.starts(week), self.today)

    def last(self, week: int) -> date:
        """The last day of a week: what holds for lots stuck on it holds for the whole week."""
        return self.starts(week) + timedelta(days=6)

    def of(self, day: date) -> int:
        """The week of a day; less than 0 for one before the plan, and `weeks` or more for one
        after it."""
        return (day - self.monday).days // 7

    def after(self, week: int, days: float) -> int:
        """The week so many days after the last day of a week."""
        return self.of(self.last(week) + timedelta(days=round(days)))

    def name(self, week: int) -> str:
        return iso_week(self.starts(week))
