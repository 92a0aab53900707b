"""What a plan says otherwise than the newest one of an earlier week, and why."""

from dataclasses import dataclass
from datetime import date

from lots.models import Target
from lots.supply.plan import stored
from lots.supply.plan.told import Planned

# Fewer or more by this share of the units is no change worth a word.
MUCH = 0.1
# So much more or less of the chance that what is here and coming will do is a reason.
TELLING = 0.05


@dataclass(frozen=True, slots=True)
class Change:
    """A target whose lines changed: units and first week before and now, None where there were
    none; and the chance that what is here and coming alone will do, before and now, where it is
    known and differs."""

    target: Target
    before: tuple[int, date] | None
    now: tuple[int, date] | None
    chance_before: int | None
    chance_now: int | None


def changes(plan: Planned, before: dict) -> list[Change]:
    """The changes since a plan that is kept, by the day that is wanted."""
    if not before:
        return []
    old = stored.load(before)
    lines = [_by_target(each) for each in (old, plan)]
    chances = [_chances(each) for each in (old, plan)]
    targets = {
        target.which: target
        for each in (old, plan)
        for target in (line.target for line in each.lines)
    }
    found = []
    for key, target in sorted(targets.items(), key=lambda each: each[0][::-1]):
        was, now = (of.get(key) for of in lines)
        if _same(was, now):
            continue
        told = [of.get(key) for of in chances]
        differ = None not in told and abs(told[0] - told[1]) > TELLING
        of_100 = [round(100 * chance) for chance in told] if differ else [None, None]
        found.append(Change(target, was, now, *of_100))
    return found


def _by_target(plan: Planned) -> dict[tuple[int, date], tuple[int, date]]:
    """Units in all and the first week of each target's lines."""
    found: dict[tuple[int, date], tuple[int, date]] = {}
    for line in plan.lines:
        key = line.target.which
        units, week = found.get(key, (0, line.week))
        found[key] = units + line.units, min(week, line.week)
    return found


def _chances(plan: Planned) -> dict[tuple[int, date], float]:
    return {one.target.which: one.as_is for one in (*plan.met, *plan.short)}


def _same(was: tuple[int, date] | None, now: tuple[int, date] | None) -> bool:
    if was is None or now is None:
        return was is now
    return was[1] == now[1] and abs(was[0] - now[0]) <= MUCH * max(was[0], now[0])
