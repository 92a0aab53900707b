"""What lots of a kind, stuck on some day, are like: what a fit says of them, in the terms of
`lots.planning`."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np

from lots.forecast import durations, takes
from lots.models import Lot, Method, PotSize, Variety
from lots.outlook import facts
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.planning.howmany import Kind


class Like(NamedTuple):
    """A lot like those that are asked for, in cells, each unit of which makes a pot: of `pieces`
    pieces, of which `least` have to strike. `whole` where the units stuck so far were just such,
    so that what they did tells of pots."""

    lot: Facts
    pieces: int
    least: int
    whole: bool


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected of such lots, each stuck on its day: kinds; strikes: median days to
    striking; behind: own lots that the fit has learned their take from."""

    kinds: list[Kind]
    strikes: list[float]
    behind: list[int]


def likes(asked: Sequence[tuple[Variety, Method, PotSize | None]]) -> list[Like]:
    """A lot like each that is asked for."""
    known = facts.of(
        Lot(variety=variety, method=method, planned_units=1, pot_size=size)
        for variety, method, size in asked
    )
    found = []
    for lot, (_variety, _method, size) in zip(known, asked, strict=True):
        pieces, least = (size.pieces_per_pot, size.least_struck) if size else (1, 1)
        whole = _usual_pieces(lot) == pieces
        found.append(
            Like(lot._replace(pieces_per_unit=pieces) if whole else lot, pieces, least, whole)
        )
    return found


def expected(fits: Fits, lots: Sequence[tuple[Like, date]]) -> Expected:
    """What is expected of lots, each like one and stuck on a day."""
    rows = fits.rows([like.lot._replace(session_day=day) for like, day in lots])
    take = takes.predict(fits.take, rows.take)
    finished = durations.predict(fits.finished, rows.finished)
    struck = durations.predict(fits.struck, rows.struck)
    kinds = [
        Kind(
            float(take.mean[n]),
            float(take.sd[n]),
            take.rho,
            1 if like.whole else like.pieces,
            1 if like.whole else like.least,
            fits.survival,
            float(finished.mean[n]),
            float(finished.sd[n]),
            fits.spread,
        )
        for n, (like, _day) in enumerate(lots)
    ]
    behind = [int(count) for count in take.group_lots]
    return Expected(kinds, np.exp(struck.mean).tolist(), behind)


def _usual_pieces(lot: Facts) -> int:
    """How many pieces a unit the lots of its variety and method, else of its crop group, had."""
    stuck = Lot.objects.filter(method=lot.method, stuck_on__isnull=False).order_by("-stuck_on")
    for of in ({"variety": lot.variety}, {"variety__group": lot.group}):
        found = stuck.filter(**of).values_list("pieces_per_unit", flat=True).first()
        if found:
            return found
    return 1
