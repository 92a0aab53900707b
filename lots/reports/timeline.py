"""A lot's way on a line: where its bands lie between sticking and the last likely day, and where
it is now. Places on the line run from 0 to LENGTH."""

from dataclasses import dataclass
from datetime import date, timedelta

from lots.models import Forecast, Lot

LENGTH = 640
MOST_TICKS = 8


@dataclass(frozen=True)
class Band:
    """From `left`, so `wide`; half are there by `middle`."""

    left: int
    wide: int
    middle: int


@dataclass(frozen=True)
class Tick:
    """The first day of a month."""

    at: int
    day: date


@dataclass(frozen=True)
class Timeline:
    """`struck` and `finished` are bands as long as it isn't there; `struck_at` and `finished_at`
    where it was, once it is."""

    struck: Band | None
    struck_at: int | None
    finished: Band | None
    finished_at: int | None
    now: int | None
    ticks: list[Tick]


def timeline(lot: Lot, forecast: Forecast, today: date) -> Timeline:
    """The line of a lot that stands or is planned."""
    start = lot.stuck_on or (lot.session.day if lot.session else today)
    ends = [forecast.finished_p90, forecast.struck_p90, lot.finished_on or start, today]
    end = max(ends) + timedelta(days=7)
    days = max((end - start).days, 1)

    def at(day: date) -> int:
        return round(LENGTH * min(max((day - start).days, 0), days) / days)

    def band(stage: str) -> Band | None:
        if getattr(lot, f"{stage}_on"):
            return None
        low, middle, high = (at(getattr(forecast, f"{stage}_{p}")) for p in ("p10", "p50", "p90"))
        return Band(low, max(high - low, 4), middle)

    return Timeline(
        band("struck"),
        at(lot.struck_on) if lot.struck_on else None,
        band("finished"),
        at(lot.finished_on) if lot.finished_on else None,
        at(today) if today >= start else None,
        [Tick(at(day), day) for day in _months(start, end)],
    )


def _months(start: date, end: date) -> list[date]:
    """First days of months between two days, evenly thinned out to a few."""
    firsts = []
    day = date(start.year + start.month // 12, start.month % 12 + 1, 1)
    while day < end:
        firsts.append(day)
        day = date(day.year + day.month // 12, day.month % 12 + 1, 1)
    return firsts[:: max(-(-len(firsts) // MOST_TICKS), 1)]
