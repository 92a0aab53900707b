"""Forecasts of lots as they are told outside the book: `manage.py forecast`."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from lots.models import Fit, Lot, Stage
from lots.outlook import facts, finishing, fits, kept
from lots.outlook.facts import Facts
from lots.outlook.prediction import Course, Prediction, predict
from lots.outlook.refits import refit


@dataclass(frozen=True, slots=True)
class Days:
    """Days by which a lot is there with a chance of 10, 50 and 90 in 100; the first day on which
    half or more were recorded there, if it is."""

    p10: date
    p50: date
    p90: date
    seen: date | None


@dataclass(frozen=True, slots=True)
class Told:
    """What is expected of a lot. take and units: mean or middle, and a central 80 %; to_come: its
    pots that are not finished yet and will be, as expected, and a central 80 %."""

    lot: Facts
    struck: Days
    finished: Days
    take: tuple[float, float, float]
    units: tuple[int, int, int]
    to_come: tuple[int, int, int]
    lots_behind: dict[str, int]

    @property
    def own(self) -> bool:
        """Whether it stands on the nursery's own lots, and not on the handbook alone."""
        return any(self.lots_behind.values())


def tell(lots: QuerySet[Lot], day: date | None = None) -> Iterator[Told]:
    """What is expected of lots that are stuck or planned: by the fit that is kept, as on every
    page; where there is none yet, it is made now. By a day in the past, from the records seen up
    to then alone. Raises NoConvergence for a book that can't be fitted."""
    wanted = lots.exclude(stage=Stage.NOT_STUCK).order_by("stuck_on", "pk")
    if day is None:
        if not Fit.objects.exists():
            refit()
        fitted = kept.newest()
        known = facts.standing(wanted)
    else:
        stuck = Lot.objects.filter(stuck_on__lte=day)
        then = list(facts.as_of(stuck, day))
        fitted = fits.fit(then, finishing.spread(then, day))
        known = list(facts.as_of(wanted, day))
    found = predict(fitted, known, day or timezone.localdate())
    for n, lot in enumerate(known):
        yield _told(lot, found, n, day or timezone.localdate())


def _told(lot: Facts, found: Prediction, n: int, today: date) -> Told:
    start = lot.start or today
    low, middle, high = (int(units) for units in found.units[n])
    return Told(
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


def _days(start: date, course: Course, n: int, seen: date | None) -> Days:
    p10, p50, p90 = (start + timedelta(days=round(float(days))) for days in course.days[n])
    return Days(p10, p50, p90, seen)
