"""How sure the pots of a week are: the band around what is expected to finish, week by week, of
the whole nursery, and by variety and size.

How many are expected stands with each lot (`ToCome`) and follows its records at once. The bands
hang on what lots have in common; they are worked out with each fit and kept with it, so that a page
reads them whatever the book's size.
"""

import logging
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from django.db.models import Q

from lots import formats
from lots.forecast import weeks
from lots.forecast.arrays import Ints
from lots.models import Fit, Lot
from lots.models.days import monday_of
from lots.models.lot import STANDING
from lots.outlook import facts
from lots.outlook.fits import Fits
from lots.outlook.flushes import flushes

WEEKS = 26
# Draws of what may come; fewer where many lots level each other out.
MOST_DRAWS, FEWEST_DRAWS, LOT_DRAWS = 1000, 200, 400_000
BATCH = 500
SEED = 8601
# What brings a kept calendar of an older format forward (see `lots.formats`).
STEPS: tuple[formats.Step, ...] = (lambda data: _bands_alone(data),)

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kind:
    """One line of the calendar: a variety in a pot size (None while it isn't known which)."""

    variety: int
    size: int | None


@dataclass(frozen=True, slots=True)
class Band:
    """Pots a week, (weeks,) each: with a chance of 10 in 100 no more than `low` finish, and with
    one of 90 in 100 no more than `high`."""

    low: Ints
    high: Ints


@dataclass(frozen=True, slots=True)
class Calendar:
    """The bands of the weeks from `monday` on: of all pots, and of each kind."""

    monday: date
    total: Band
    kinds: dict[Kind, Band]

    def week(self, monday: date, kind: Kind | None = None) -> tuple[int, int] | None:
        """Low and high of a week, of all or of one kind; None where the calendar does not reach."""
        of = self.kinds.get(kind) if kind else self.total
        n = (monday - self.monday).days // 7
        if of is None or not 0 <= n < len(of.low):
            return None
        return int(of.low[n]), int(of.high[n])


_kept: tuple[datetime, Calendar | None] | None = None


def newest() -> tuple[datetime, Calendar] | None:
    """The calendar that is kept with the newest fit, and when the book was read for it; None
    while there is none that can be read."""
    global _kept
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    if read_at is None:
        return None
    if _kept is None or _kept[0] != read_at:
        row = Fit.objects.only("read_at", "calendar").get()
        try:
            _kept = row.read_at, load(row.calendar)
        except Exception:  # whatever is wrong with it: it is made anew
            log.exception("The calendar that is kept can't be read; it is made anew.")
            _kept = row.read_at, None
    return None if _kept[1] is None else (_kept[0], _kept[1])


def calendar(fits: Fits, today: date) -> Calendar:
    """The bands of what is expected to finish in the coming weeks, this one first."""
    lots = Lot.objects.filter(Q(cells__gt=0) | Q(pots_growing__gt=0), stage__in=STANDING)
    known = facts.standing(lots.order_by("variety", "pk"))
    monday = monday_of(today)
    if not known:
        return Calendar(monday, Band(*np.zeros((2, WEEKS), dtype=np.intp)), {})
    rng = np.random.default_rng(SEED)
    draws = int(np.clip(LOT_DRAWS // len(known), FEWEST_DRAWS, MOST_DRAWS))
    drawn = flushes(fits, known, draws, today, rng)
    kinds = [Kind(known[n].variety, fits.sizes.of(known[n]).size) for n in drawn.lot]
    order = np.array(
        sorted(range(len(kinds)), key=lambda n: (kinds[n].variety, kinds[n].size or 0)),
        dtype=np.intp,
    )
    kinds = [kinds[n] for n in order]
    first = np.array([(monday - lot.stuck_on).days for lot in known], dtype=float)
    edges = np.maximum(first[:, None] + 7.0 * np.arange(WEEKS + 1), 0)
    total = np.zeros((draws, WEEKS), dtype=np.int64)
    found: dict[Kind, Band] = {}
    for batch in _batches(kinds):
        some, own = order[batch], list(dict.fromkeys(kinds[batch]))
        key = np.array([own.index(kind) for kind in kinds[batch]], dtype=np.intp)
        growing = weeks.Growing(drawn.after[some], edges[drawn.lot[some]], key)
        counts = weeks.finishing(
            drawn.days[:, some], drawn.pots[:, some], growing, fits.spread, rng
        )
        total += counts.sum(axis=1)
        of_batch = weeks.summary(counts)
        for n, kind in enumerate(own):
            found[kind] = Band(of_batch.p10[n], of_batch.p90[n])
    of_all = weeks.summary(total)
    return Calendar(monday, Band(of_all.p10, of_all.p90), found)


def _batches(kinds: list[Kind]) -> list[slice]:
    """Lots in batches that end where a kind ends."""
    edges, start = [], 0
    for n in range(1, len(kinds) + 1):
        ends = n == len(kinds) or kinds[n] != kinds[n - 1]
        if ends and (n - start >= BATCH or n == len(kinds)):
            edges.append(slice(start, n))
            start = n
    return edges


def dump(found: Calendar) -> dict:
    """The calendar as dictionaries and lists, fit for JSON."""
    return {
        "format": len(STEPS) + 1,
        "monday": found.monday.isoformat(),
        "total": _plain(found.total),
        "kinds": [
            {"variety": kind.variety, "size": kind.size} | _plain(of)
            for kind, of in found.kinds.items()
        ],
    }


def load(data: dict) -> Calendar:
    """What `dump`, of this version or an older one, made the data of. Raises ValueError, KeyError
    or TypeError for what it didn't."""
    data = formats.bring_forward(data, STEPS)
    return Calendar(
        date.fromisoformat(data["monday"]),
        _band(data["total"]),
        {Kind(row["variety"], row["size"]): _band(row) for row in data["kinds"]},
    )


def _bands_alone(data: dict) -> dict:
    """The second format from the first, which had the expected pots beside their band."""

    def band(of: dict) -> dict:
        return {"low": of["p10"], "high": of["p90"]}

    kinds = [{name: row[name] for name in ("variety", "size")} | band(row) for row in data["kinds"]]
    return {
        "format": 2,
        "monday": data["monday"],
        "total": band(data["total"]),
        "kinds": kinds,
    }


def _plain(of: Band) -> dict[str, list[int]]:
    return {"low": of.low.tolist(), "high": of.high.tolist()}


def _band(row: dict) -> Band:
    return Band(np.array(row["low"]), np.array(row["high"]))
