"""The week: what is to be stuck, looked at, potted up, finished and sent out, with its hours; for
the manager, on one page."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lots import supply
from lots.models import Lot, Stage, StickingSession
from lots.models.days import monday_of
from lots.supply import benches, plan
from lots.supply.plan.room import pace
from lots.views.supply.plan import load_charts
from lots.worklists import walk

# Common practice, no source: minutes to look a lot over; pots that one person pots up, and sorts
# out and moves, in an hour.
LOOK_MINUTES, POTTED_AN_HOUR, SORTED_AN_HOUR = 3, 60, 120


@dataclass(frozen=True)
class Hours:
    """Hours of each kind of work."""

    stick: float
    look: float
    pot_up: float
    finish: float
    send: float

    @property
    def all(self) -> float:
        return self.stick + self.look + self.pot_up + self.finish + self.send


@dataclass(frozen=True)
class Sitting:
    """What is to be stuck in one session of the week."""

    session: StickingSession
    lots: int
    pieces: int


@dataclass(frozen=True)
class BenchPots:
    """Lots of one bench that are to be potted up."""

    name: str
    lots: int
    pots: int
    area: float


@require_safe
def the_week(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    monday = monday_of(today)
    sunday = monday + timedelta(days=6)
    kept = plan.newest()
    lines = [line for line in kept.plan.lines if line.week <= sunday] if kept else []
    planned = _planned(sunday)
    stops = walk.stops(sunday)
    pot_up = benches.to_pot_up()
    [finishing] = supply.weeks(1, today)
    send = [one for one in supply.served(today) if one.target.wanted_by <= sunday]
    minutes = pace()
    hours = Hours(
        stick=(
            sum(lot.planned_units * lot.pieces_per_unit * minutes[lot.method_id] for lot in planned)
            + sum(line.minutes for line in lines)
        )
        / 60,
        look=len(stops) * LOOK_MINUTES / 60,
        pot_up=sum(one.pots for one in pot_up) / POTTED_AN_HOUR,
        finish=finishing.pots / SORTED_AN_HOUR,
        send=sum(one.target.pots for one in send) / SORTED_AN_HOUR,
    )
    context = {
        "monday": monday,
        "sunday": sunday,
        "sittings": _sittings(planned),
        "lines": lines,
        "benches": walk.benches(stops),
        "stops": len(stops),
        "pot_up": _by_bench(pot_up),
        "pots": sum(one.pots for one in pot_up),
        "area": sum(one.area or 0 for one in pot_up),
        "finishing": finishing,
        "send": send,
        "poor": benches.poor(kept.plan.lines, today) if kept else [],
        "hours": hours,
        "charts": load_charts(kept.plan.weeks[:8]) if kept else [],
    }
    return render(request, "supply/week.html", context)


def _planned(last: date) -> list[Lot]:
    """Lots to be stuck in sessions up to a day."""
    lots = Lot.objects.filter(stage=Stage.PLANNED, session__day__lte=last)
    return list(
        lots.select_related("variety", "method", "session").order_by("session__day", "line")
    )


def _sittings(planned: list[Lot]) -> list[Sitting]:
    by_session: dict[StickingSession, list[Lot]] = {}
    for lot in planned:
        by_session.setdefault(lot.session, []).append(lot)
    return [
        Sitting(session, len(lots), sum(lot.planned_units * lot.pieces_per_unit for lot in lots))
        for session, lots in by_session.items()
    ]


def _by_bench(found: list[benches.ToPotUp]) -> list[BenchPots]:
    by_bench: dict[str, list[benches.ToPotUp]] = {}
    for one in found:
        place = one.lot.place
        by_bench.setdefault(place.bench if place else "", []).append(one)
    return [
        BenchPots(
            name,
            len(some),
            sum(one.pots for one in some),
            sum(one.area or 0.0 for one in some),
        )
        for name, some in sorted(by_bench.items())
    ]
