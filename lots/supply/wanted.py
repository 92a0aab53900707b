"""Targets that are open, each time they are wanted: a standing one again and again."""

import copy
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from lots.models import PlanSettings, Target

# As far ahead as standing targets without an end are looked at.
AHEAD = timedelta(weeks=104)


def wanted(today: date, last: date | None = None) -> list[Target]:
    """Open targets from a day on, the first day first; a standing one once for each time, as a copy
    with that day. Those of a day that is over are left out."""
    targets = Target.objects.filter(outcome="").select_related("variety__group", "pot_size")
    if last:
        targets = targets.filter(wanted_by__lte=last)
    found = [
        each
        for target in targets
        for each in times(target, last or today + AHEAD)
        if each.wanted_by >= today
    ]
    return sorted(found, key=lambda target: (target.wanted_by, target.pk))


def times(target: Target, last: date) -> Iterator[Target]:
    """A target, and where it comes again a copy for each time up to a day."""
    yield target
    day = target.next_day
    while day and day <= last:
        again = copy.copy(target)
        again.wanted_by = day
        yield again
        day = again.next_day


def next_wanted(varieties: Iterable[int], today: date) -> dict[int, Target]:
    """The open target of each variety whose day comes first, if it has one."""
    found: dict[int, Target] = {}
    targets = Target.objects.filter(outcome="", wanted_by__gte=today, variety__in=set(varieties))
    for target in targets.order_by("wanted_by", "pk"):
        found.setdefault(target.variety_id, target)
    return found


def over(today: date) -> list[Target]:
    """Open targets whose day is over, the newest first: somebody has to say how they came out."""
    targets = Target.objects.filter(outcome="", wanted_by__lt=today)
    return list(targets.select_related("variety", "pot_size").order_by("-wanted_by", "pk"))


def usual_confidence() -> float:
    """The chance with which targets are to be met that don't say."""
    row = PlanSettings.objects.filter(pk=PlanSettings.THE_ONE).first()
    return row.confidence if row else PlanSettings.CONFIDENCE


def sure(targets: Iterable[Target]) -> list[float]:
    """The chance with which each target is to be met."""
    usual = usual_confidence()
    return [usual if target.confidence is None else target.confidence for target in targets]
