"""What moved the forecast of a lot away from the handbook, in days."""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from django.utils.translation import gettext as _

from lots.forecast import durations
from lots.forecast.lotrows import CHANGE, PLACES
from lots.models import Lot
from lots.outlook import facts, stored_fit


class Reasons(NamedTuple):
    """Why a lot of its kind is expected to get to `stage` (struck or finished) after `usual` days,
    where the handbook says `handbook`: `parts` are words and days more, or fewer, which add up to
    the difference."""

    stage: str
    handbook: int
    usual: int
    parts: list[tuple[str, int]]


def reasons(lot: Lot) -> Reasons | None:
    """Of the next stage of a lot that is planned or stands; None where none of our own lots of its
    kind has been seen there, or both are behind it. What was seen of the lot itself isn't in it."""
    stage = "finished" if lot.struck_on else "struck"
    if lot.finished_on:
        return None
    fits = stored_fit.newest()
    rows = getattr(fits.rows(facts.of([lot])), stage)
    fit = getattr(fits, stage)
    if not durations.predict(fit, rows).group_lots[0]:
        return None
    logs = {name: float(of[0]) for name, of in durations.parts(fit, rows).items()}
    return _in_days(stage, logs.pop("handbook"), _by_words(lot, logs))


def _in_days(stage: str, handbook: float, logs: dict[str, float]) -> Reasons:
    """Log days as days that add up: each part is its share of the way from the handbook's days to
    those expected (the logarithmic mean of both times the part; Ang 2004, Energy Policy
    32:1131-1139, from memory), rounded so that the sums are right."""
    way = sum(logs.values())
    first, last = np.exp(handbook), np.exp(handbook + way)
    mean = (last - first) / way if abs(way) > 1e-9 else first
    ends = np.rint(first + np.cumsum([0.0, *(mean * part for part in logs.values())]))
    steps = [int(after - before) for before, after in pairwise(ends)]
    parts = [(word, days) for word, days in zip(logs, steps, strict=True) if days]
    return Reasons(stage, int(ends[0]), int(ends[-1]), parts)


def _by_words(lot: Lot, logs: dict[str, float]) -> dict[str, float]:
    """The parts of the model under the words that people have for them, the ones that say most of
    a lot's kind first."""
    method, group = lot.method, lot.variety.group
    words = {
        "kind": _("%(method)s of %(group)s, here") % {"method": method, "group": group},
        "variety": _("this variety"),
        "season": _("season"),
        "pot": _("pot size"),
        "late": _("how late it struck"),
        "moved": _("what moved its striking"),
        "time": _("how the nursery goes of late"),
    }
    found: dict[str, float] = {}
    for name, value in logs.items():
        if name in words:
            word = words[name]
        elif name in PLACES:
            word = _("house and bench")
        elif name.startswith(CHANGE):
            word = _("what changed")
        else:
            word = _("medium and what else was done")
        found[word] = found.get(word, 0.0) + value
    return found
