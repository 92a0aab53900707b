"""Method against method, for a variety or a whole crop group, by the newest fit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import ndtr

from lots.forecast import compare, handbook
from lots.forecast.compare import Comparison, Estimate
from lots.forecast.lognormal import Z90
from lots.forecast.lotrows import Lots
from lots.models import CropGroup, Method, Variety
from lots.outlook import kept
from lots.outlook.rows import expectation


@dataclass(frozen=True, slots=True)
class Pair:
    """Two methods. take: share of units; struck, finished: days; pots: finished pots from one
    leaf or shoot, None where the book doesn't say how many pieces one gives."""

    first: Method
    second: Method
    take: Comparison
    struck: Comparison
    finished: Comparison
    pots: Comparison | None


def pairs(
    group: CropGroup, variety: Variety | None, methods: Sequence[tuple[Method, float]]
) -> list[Pair]:
    """Each method against each, for a variety or (None) the middle of its crop group; season is
    allowed for. `methods` come with the usual number of pieces a unit."""
    return [_pair(group, variety, first, second) for first, second in combinations(methods, 2)]


def _pair(
    group: CropGroup,
    variety: Variety | None,
    first: tuple[Method, float],
    second: tuple[Method, float],
) -> Pair:
    fits = kept.newest()
    both = first[0], second[0]
    rows = [expectation(group.name, method.name, method.source_part) for method in both]
    common = {
        "group": np.array([f"{group.pk}/{method.pk}" for method in both]),
        "variety": np.array([str(variety.pk) if variety else ""] * 2),
        "day_of_year": np.full(2, np.nan),
        "pot_cm": np.full(2, np.nan),
        "late": np.zeros(2),
        "late_var": np.zeros(2),
    }
    take = compare.take(fits.take, _lots(common, [row.take for row in rows]))
    return Pair(
        *both,
        take=take,
        struck=compare.days(fits.struck, _lots(common, [row.struck for row in rows])),
        finished=compare.days(fits.finished, _lots(common, [row.finished for row in rows])),
        pots=_pots(take, *(_units_a_source(*way) for way in (first, second)), fits.survival),
    )


def _lots(common: dict, ranges: Sequence[handbook.Range]) -> Lots:
    low, high = np.array([(each.low, each.high) for each in ranges], dtype=float).T
    return Lots(**common, expected_low=low, expected_high=high)


def _units_a_source(method: Method, pieces_a_unit: float) -> float | None:
    return method.pieces_per_source / pieces_a_unit if method.pieces_per_source else None


def _pots(
    take: Comparison, first: float | None, second: float | None, survival: float
) -> Comparison | None:
    """The comparison of takes, times the units that one leaf or shoot makes and the pots that
    survive. Normal in the difference, whose spread follows from those of both and of theirs."""
    if first is None or second is None:
        return None
    a, b = first * survival, second * survival
    spread_a, spread_b = a * _sd(take.first), b * _sd(take.second)
    shared = (_sd(take.first) ** 2 + _sd(take.second) ** 2 - _sd(take.difference) ** 2) / 2
    variance = max(spread_a**2 + spread_b**2 - 2 * a * b * shared, 1e-12)
    mean, reach = a * take.first.mean - b * take.second.mean, Z90 * math.sqrt(variance)
    return Comparison(
        first=_scaled(take.first, a),
        second=_scaled(take.second, b),
        difference=Estimate(mean, mean - reach, mean + reach, take.difference.lots),
        first_greater=float(ndtr(mean / math.sqrt(variance))),
    )


def _sd(estimate: Estimate) -> float:
    return (estimate.high - estimate.low) / (2 * Z90)


def _scaled(estimate: Estimate, by: float) -> Estimate:
    return Estimate(by * estimate.mean, by * estimate.low, by * estimate.high, estimate.lots)
