"""Pots that finish week by week, with a band: of the whole nursery, and by variety and size.

Worked out with each fit and kept with it, so that a page reads it whatever the book's size.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from lots.forecast import durations, weeks
from lots.forecast import take as takes
from lots.forecast.arrays import Floats, Ints
from lots.models import Fit, Lot
from lots.outlook import facts
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.forecasts import WAITED_FOR
from lots.outlook.prediction import chances_of_units, pots_to_come

WEEKS = 26
# Draws of what may come; fewer where many lots level each other out.
MOST_DRAWS, FEWEST_DRAWS, LOT_DRAWS = 1000, 200, 400_000
BATCH = 500
SEED = 8601


@dataclass(frozen=True, slots=True)
class Kind:
    """One line of the calendar: a variety in a pot size (None while not potted up)."""

    variety: int
    size: int | None


@dataclass(frozen=True, slots=True)
class Calendar:
    """Pots a week from `monday` on: (weeks,) of all, and of each kind."""

    monday: date
    total: weeks.Weeks
    kinds: dict[Kind, weeks.Weeks]


_kept: tuple[datetime, Calendar] | None = None


def newest() -> tuple[datetime, Calendar] | None:
    """The calendar that is kept with the newest fit, and when the book was read for it; None
    while there is none."""
    global _kept
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    if read_at is None:
        return None
    if _kept is None or _kept[0] != read_at:
        row = Fit.objects.only("read_at", "calendar").get()
        _kept = row.read_at, load(row.calendar)
    return _kept


def calendar(fits: Fits, today: date) -> Calendar:
    """What is expected to finish in the coming weeks, this one first."""
    lots = Lot.objects.filter(stage__in=WAITED_FOR).order_by("variety", "pk")
    known = facts.standing(lots)
    sizes = {
        pk: direct or size
        for pk, direct, size in lots.values_list("pk", "direct_pot_size", "pot_size")
    }
    kinds = [Kind(lot.variety, sizes.get(lot.pk)) for lot in known]
    order = sorted(range(len(known)), key=lambda n: (kinds[n].variety, kinds[n].size or 0))
    monday = today - timedelta(days=today.weekday())
    return _calendar(fits, [known[n] for n in order], [kinds[n] for n in order], monday)


def _calendar(fits: Fits, lots: list[Facts], kinds: list[Kind], monday: date) -> Calendar:
    if not lots:
        return Calendar(monday, weeks.Weeks(*np.zeros((4, WEEKS))), {})
    rng = np.random.default_rng(SEED)
    draws = int(np.clip(LOT_DRAWS // len(lots), FEWEST_DRAWS, MOST_DRAWS))
    days, to_come = _draw(fits, lots, draws, rng)
    listed = list(dict.fromkeys(kinds))
    total = np.zeros((draws, WEEKS), dtype=np.int64)
    found: dict[Kind, weeks.Weeks] = {}
    for batch in _batches(kinds):
        own = list(dict.fromkeys(kinds[batch]))
        key = np.array([own.index(kind) for kind in kinds[batch]], dtype=np.intp)
        growing = _growing(lots[batch], key, monday)
        counts = weeks.finishing(days[:, batch], to_come[:, batch], growing, fits.spread, rng)
        total += counts.sum(axis=1)
        of_batch = weeks.summary(counts)
        for n, kind in enumerate(own):
            found[kind] = weeks.Weeks(
                *(getattr(of_batch, name)[n] for name in ("mean", "p10", "p50", "p90"))
            )
    return Calendar(monday, weeks.summary(total), {kind: found[kind] for kind in listed})


def _draw(
    fits: Fits, lots: Sequence[Facts], draws: int, rng: np.random.Generator
) -> tuple[Floats, Ints]:
    """(draws, lots) days until half is finished, and pots that will yet finish."""
    rows = fits.rows(lots)
    days = durations.draw(fits.finished, rows.finished, draws, rng, rows.seen_finished.low)
    chances = chances_of_units(takes.predict(fits.take, rows.take), rows.took)
    units = chances.step * takes.draw_units(chances.pmf, draws, rng)
    return days, rng.binomial(pots_to_come(lots, units), fits.survival_of(lots))


def _growing(lots: Sequence[Facts], key: Ints, monday: date) -> weeks.Growing:
    def ages(day_of) -> Floats:
        return np.array([day_of(lot) for lot in lots], dtype=float)

    first = ages(lambda lot: (monday - lot.stuck_on).days)
    looked = ages(lambda lot: (lot.seen_on - lot.stuck_on).days if lot.seen_on else 0)
    return weeks.Growing(
        done=np.array([lot.pots_finished + lot.pots_left for lot in lots], dtype=np.intp),
        looked=looked,
        edges=np.maximum(first[:, None] + 7.0 * np.arange(WEEKS + 1), 0),
        key=key,
    )


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
        "monday": found.monday.isoformat(),
        "total": _plain(found.total),
        "kinds": [
            {"variety": kind.variety, "size": kind.size} | _plain(of)
            for kind, of in found.kinds.items()
        ],
    }


def load(data: dict) -> Calendar:
    """What `dump` made the data of."""
    return Calendar(
        date.fromisoformat(data["monday"]),
        _weeks(data["total"]),
        {Kind(row["variety"], row["size"]): _weeks(row) for row in data["kinds"]},
    )


def _plain(of: weeks.Weeks) -> dict[str, list[float]]:
    return {
        "mean": np.round(of.mean, 2).tolist(),
        "p10": of.p10.tolist(),
        "p50": of.p50.tolist(),
        "p90": of.p90.tolist(),
    }


def _weeks(row: dict) -> weeks.Weeks:
    return weeks.Weeks(*(np.array(row[name]) for name in ("mean", "p10", "p50", "p90")))
