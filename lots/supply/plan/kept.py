"""The plan that is kept with the book, so that pages only read; made anew when what it hangs on has
changed."""

import logging
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import connections
from django.db.models import Count, Max
from django.utils import timezone

from lots.models import (
    Cut,
    Fit,
    Limit,
    Lot,
    Method,
    Plan,
    PlanSettings,
    PotSize,
    Stage,
    StickingSession,
    StockPlant,
    Target,
    Variety,
    Wish,
)
from lots.planning.highs import Progress
from lots.supply.plan import changing, stored
from lots.supply.plan.changing import Change
from lots.supply.plan.making import SECONDS, WEEKS, make
from lots.supply.plan.told import Line, Planned

EVERY = 30  # seconds between looks whether it is behind
TRIES = 3  # at a plan of the book as it stands, while the book goes on changing
# Tables that a plan hangs on beside the newest fit, which follows the lots' records.
TABLES = [
    *(Target, Limit, StockPlant, Method, PotSize, StickingSession, Variety),
    *(Wish, Cut, PlanSettings),
]

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kept:
    """A plan, when it was made, and the lines of the newest one of an earlier week."""

    made_at: datetime
    plan: Planned
    before: dict


def newest() -> Kept | None:
    """The plan that is kept; None while there is none that can be read."""
    return _read(Plan.objects.first())


def _read(row: Plan | None) -> Kept | None:
    if row is None:
        return None
    try:
        return Kept(row.made_at, stored.load(row.data), row.before)
    except Exception:  # whatever is wrong with it: it is made anew
        log.exception("The plan that is kept can't be read; it is made anew.")
        return None


def changes(kept: Kept) -> list[Change]:
    """What it says otherwise than the one of an earlier week."""
    return changing.changes(kept.plan, kept.before)


def chances() -> dict[tuple[int, date], int]:
    """In 100: how surely each target is met with all that the kept plan counts on, lots planned in
    sessions among it; by the target's pk and its day."""
    kept = newest()
    if kept is None:
        return {}
    told = [*kept.plan.met, *kept.plan.short]
    return {(one.target.pk, one.target.wanted_by): one.in_100 for one in told}


def renew(seconds: float = SECONDS, progress: Progress | None = None) -> Planned:
    """Make the plan of the book as it stands, and keep it. It leans on the one before.

    If the book changes while it is made, it is made once more: lines that went into a session
    meanwhile would come back with it.
    """
    for _try in range(TRIES):
        state, today = state_of_book(), timezone.localdate()
        row = Plan.objects.first()
        kept = _read(row)
        found = make(today, WEEKS, seconds, stored.weeks_of(kept.plan) if kept else None, progress)
        if state_of_book() == state:
            break
    before = row.before if row else {}
    if row and kept and kept.plan.horizon.monday < found.horizon.monday:
        before = row.data
    Plan.objects.update_or_create(
        pk=Plan.THE_ONE,
        defaults={
            "made_at": timezone.now(),
            "of": state,
            "data": stored.dump(found),
            "before": before,
        },
    )
    return found


def take_out(lines: Iterable[Line]) -> None:
    """Lines are stuck as a session says from now on: the plan that is kept has them no more, and
    is made anew in due course."""
    row = Plan.objects.get()
    gone = {stored.key_of(line) for line in lines}
    row.data["lines"] = [line for line in row.data["lines"] if stored.key(line) not in gone]
    row.of = {}
    row.save()


def is_behind() -> bool:
    """Whether what the plan hangs on has changed since it was made; a book in which nothing was
    ever wanted needs none."""
    row = Plan.objects.only("of").first()
    if row is None and not Target.objects.exists():
        return False
    return row is None or row.of != state_of_book()


def state_of_book() -> dict[str, str]:
    """What changes whenever something does that a plan hangs on."""
    fit = Fit.objects.values_list("read_at", flat=True).first()
    planned = Lot.objects.filter(stage=Stage.PLANNED).aggregate(n=Count("pk"), last=Max("pk"))
    found = {
        "day": timezone.localdate().isoformat(),
        "fit": fit.isoformat() if fit else "",
        "planned": f"{planned['n']} {planned['last']}",
    }
    for model in TABLES:
        rows = model.objects.aggregate(n=Count("pk"), last=Max("pk"))
        told = [rows["n"], rows["last"]]
        if hasattr(model, "history"):
            told.append(model.history.aggregate(last=Max("history_id"))["last"])
        found[model._meta.model_name] = " ".join(map(str, told))
    found["sure"] = str(PlanSettings.objects.values_list("confidence", flat=True).first())
    return found


class Working(threading.Thread):
    """A plan being made: what the best so far costs and what none can be cheaper than."""

    def __init__(self) -> None:
        super().__init__(name="plan", daemon=True)
        self.best = self.bound = 0.0
        self.stopped = self.failed = False

    def run(self) -> None:
        try:
            renew(SECONDS, self._told)
        except Exception:
            log.exception("The plan could not be made; the one before stays.")
            self.failed = True
        finally:
            connections.close_all()

    def _told(self, best: float, bound: float) -> bool:
        self.best, self.bound = best, bound
        return self.stopped


_working: Working | None = None
_lock = threading.Lock()


def work(patience: float | None) -> Working | None:
    """Make the plan anew in a thread of its own, of which there is one at a time, and wait a
    little, or with None to its end; None once it is made."""
    global _working
    with _lock:
        if _working is None or not _working.is_alive():
            _working = Working()
            _working.start()
        mine = _working
    mine.join(patience)
    return mine if mine.is_alive() or mine.failed else None


def working() -> Working | None:
    """The plan that is being made now, if one is."""
    return _working if _working and _working.is_alive() else None


def stop() -> None:
    """Have the one that is being made end with the best it has found."""
    if _working:
        _working.stopped = True


def renew_in_background(closing: threading.Event) -> None:
    """Make the plan anew whenever it is behind, until `closing` is set: for a thread of the
    server."""
    while not closing.wait(EVERY):
        try:
            if is_behind():
                work(patience=None)
        except Exception:
            log.exception("The plan could not be made anew; the one before stays.")
        finally:
            connections.close_all()
