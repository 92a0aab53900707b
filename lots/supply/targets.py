"""What is wanted against what is there and will come: targets are served in the order of their
day, and each pot serves one of them."""

import copy
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from lots.models import Outcome, Target, Variety
from lots.outlook.calendar import Kind
from lots.supply.stock import Coming, coming, finished
from lots.supply.wanted import wanted


@dataclass(frozen=True)
class Served:
    """A target, and the pots of its variety and size that serve it: finished ones `here`, and
    those `coming` by its day. `unsized` are pots of the variety that come by then and have no size
    yet, as many as could fill the gap; they are not counted as serving it."""

    target: Target
    here: int
    coming: int
    unsized: int

    @property
    def short(self) -> int:
        return self.target.pots - self.here - self.coming


@dataclass(frozen=True)
class Serving:
    """Targets with what serves them, and what is left by kind: finished pots `here`, and those
    `ahead` by day."""

    served: list[Served]
    here: dict[Kind, int]
    ahead: dict[Kind, list[tuple[date, int]]]


def served(today: date, weeks: int | None = None, variety: Variety | None = None) -> list[Served]:
    """The open targets of the coming weeks, or of all time to come, the first day first; standing
    ones each time. Of one variety, where one is asked about: others take none of its pots."""
    targets = wanted(today, None if weeks is None else today + timedelta(weeks=weeks))
    if variety:
        targets = [target for target in targets if target.variety_id == variety.pk]
    varieties = {target.variety_id for target in targets}
    return serve(targets, finished(varieties), coming(varieties)).served


def serving(today: date) -> Serving:
    """All open targets, and what they leave of all pots."""
    return serve(wanted(today), finished(), coming())


def serve(
    targets: Iterable[Target], here: dict[Kind, int], ahead: dict[Kind, list[Coming]]
) -> Serving:
    """Serve targets, given in the order of their day, from what is `here` first and then from what
    is to come, the first ones first."""
    here = dict(here)
    left = {kind: [[each.day, each.pots] for each in days] for kind, days in ahead.items()}

    def take(kind: Kind, by: date, most: int) -> int:
        taken = 0
        for pots in left.get(kind, []):
            if pots[0] > by or taken == most:
                break
            some = min(pots[1], most - taken)
            pots[1] -= some
            taken += some
        return taken

    found = []
    for target in targets:
        kind = Kind(target.variety_id, target.pot_size_id)
        now = min(here.get(kind, 0), target.pots)
        here[kind] = here.get(kind, 0) - now
        come = take(kind, target.wanted_by, target.pots - now)
        gap = target.pots - now - come
        none = take(Kind(target.variety_id, None), target.wanted_by, gap)
        found.append(Served(target, now, come, none))
    rest = {kind: [(day, pots) for day, pots in days if pots] for kind, days in left.items()}
    return Serving(found, here, rest)


@transaction.atomic
def close(target: Target, outcome: str, today: date) -> None:
    """Say how a target came out. Of a standing one the time that was wanted is closed, and it goes
    on with the next; dropped, it is closed for good."""
    following = target.next_day
    if outcome != Outcome.DROPPED and following:
        closed = copy.copy(target)
        closed.pk = None
        closed.every_weeks = closed.until = None
        target.wanted_by = following
        target.save()
        target = closed
    target.outcome, target.closed_on = outcome, today
    target.save()
