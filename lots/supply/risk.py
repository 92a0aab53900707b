"""Targets at risk: less likely to be met, by what is here and coming, than is asked; while they can
still be saved, and why."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from lots.models import Lot, Target
from lots.supply.need import in_100
from lots.supply.plan import Kept, Line, Short
from lots.supply.weeks import WEEK, monday_of


@dataclass(frozen=True)
class AtRisk:
    """A target; the chance that what is here and coming alone will do, in 100; what is to be stuck
    this week to save it; or what it falls short of. `late` and `losing` are lots of its variety
    that are."""

    target: Target
    as_is: int
    lines: list[Line]
    short: Short | None
    late: int
    losing: int

    @property
    def units(self) -> int:
        return sum(line.units for line in self.lines)


def at_risk(kept: Kept | None, today: date) -> list[AtRisk]:
    """Those that hang on what is stuck this week, or fall short, the first day first."""
    if kept is None:
        return []
    end = monday_of(today) + WEEK
    chances = {one.target.which: one.as_is for one in (*kept.plan.met, *kept.plan.short)}
    short = {one.target.which: one for one in kept.plan.short}
    lines: dict[tuple, list[Line]] = {}
    for line in kept.plan.lines:
        if line.week < end:
            lines.setdefault(line.target.which, []).append(line)
    targets = {line.target.which: line.target for of in lines.values() for line in of}
    targets |= {key: one.target for key, one in short.items()}
    troubles = _troubles({target.variety_id for target in targets.values()}, today)
    found = [
        AtRisk(
            target,
            in_100(chances.get(key, 0.0)),
            lines.get(key, []),
            short.get(key),
            *troubles.get(target.variety_id, (0, 0)),
        )
        for key, target in targets.items()
        if target.wanted_by >= today
    ]
    return sorted(found, key=lambda one: (one.target.wanted_by, one.target.pk))


def _troubles(varieties: set[int], today: date) -> dict[int, tuple[int, int]]:
    """By variety, how many standing lots are late, and how many lose more than usual."""
    rows = (
        Lot.objects.filter(variety__in=varieties)
        .filter(Q(late_after__lt=today) | Q(heavy_losses=True))
        .order_by()
        .values("variety")
        .annotate(
            late=Count("pk", filter=Q(late_after__lt=today)),
            losing=Count("pk", filter=Q(heavy_losses=True)),
        )
    )
    return {row["variety"]: (row["late"], row["losing"]) for row in rows}
