"""Forecasts of lots as they are told outside the book: `manage.py forecast`."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from lots.models import Fit, Lot, Stage
from lots.outlook import changes, facts, finishing, fits, stored_fit
from lots.outlook.facts import Facts
from lots.outlook.prediction import Prediction, StageForecast, predict
from lots.outlook.refits import refit


@dataclass(frozen=True, slots=True)
class StageDays:
    """Days by which a lot is there with a chance of 10, 50 and 90 in 100; the first day on which
    half or more were recorded there, if it is."""

    p10: date
    p50: date
    p90: date
    seen: date | None


@dataclass(frozen=True, slots=True)
class LotForecast:
    """What is expected of a lot. take and units: mean or middle, and a central 80 %; to_come: its
    pots that are not finished yet and will be, as expected, and a central 80 %."""

    lot: Facts
    struck: StageDays
    finished: StageDays
    take: tuple[float, float, float]
    units: tuple[int, int, int]
    to_come: tuple[int, int, int]
    lots_behind: dict[str, int]

    @property
    def own(self) -> bool:
        """Whether it stands on the nursery's own lots, and not on the handbook alone."""
        return any(self.lots_behind.values())


def lot_forecasts(lots: QuerySet[Lot], day: date | None = None) -> Iterator[LotForecast]:
    """What is expected of lots that are stuck or planned: by the fit that is kept, as on every
    page; where there is none yet, it is made now. By a day in the past, from the records seen up
    to then alone. Raises NoConvergence for a book that can't be fitted."""
    wanted = lots.exclude(stage=Stage.NOT_STUCK).order_by("stuck_on", "pk")
    if day is None:
        if not Fit.objects.exists():
            refit()
        fitted = stored_fit.newest()
        known = facts.standing(wanted)
    else:
        stuck = Lot.objects.filter(stuck_on__lte=day)
        then = list(facts.as_of(stuck, day))
        fitted = fits.fit(then, finishing.spread(then, day), changes.noted(day))
        known = list(facts.as_of(wanted, day))
    found = predict(fitted, known, day or timezone.localdate())
    for n, lot in enumerate(known):
        yield _lot_forecast(lot, found, n, day or timezone.localdate())


def _lot_forecast(lot: Facts, found: Prediction, n: int, today: date) -> LotForecast:
    start = lot.start or today
    low, middle, high = (int(units) for units in found.units[n])
    return LotForecast(
        lot=lot,
        struck=_days(start, found.struck, n, lot.struck_on),
        finished=_days(start, found.finished, n, lot.finished_on),
        take=(float(found.take[n]), low / lot.units, high / lot.units),
        units=(low, middle, high),
        to_come=_to_come(found, n),
        lots_behind={
            "struck": int(found.struck.behind[n]),
            "finished": int(found.finished.behind[n]),
            "take": int(found.take_behind[n]),
        },
    )


def _to_come(found: Prediction, n: int) -> tuple[int, int, int]:
    of = found.to_come
    low, high = of.band[n]
    return int(of.growing[n] + of.cells[n]), int(low), int(high)


def _days(start: date, found: StageForecast, n: int, seen: date | None) -> StageDays:
    p10, p50, p90 = (start + timedelta(days=round(float(days))) for days in found.days[n])
    return StageDays(p10, p50, p90, seen)
