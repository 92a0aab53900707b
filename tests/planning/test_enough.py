"""Joint draws of lots against the exact answer, and against plain draws, many of them."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import norm

from lots.planning import enough, howmany
from lots.planning.howmany import Kind

KIND = Kind(0.3, 0.5, 0.08, 1, 1, 0.95, np.log(150), 0.12, 0.08)
OFF = enough.common()


def one(kind: Kind = KIND, seed: int = 1):
    [lot] = enough.lots(kind, OFF, 1, np.random.default_rng(seed))
    return lot


@pytest.mark.parametrize("kind", [KIND, replace(KIND, pieces=3, least=2), replace(KIND, rho=0.0)])
@pytest.mark.parametrize(("wanted", "days"), [(40, np.inf), (12, 170), (150, 160)])
@pytest.mark.parametrize("confidence", [0.5, 0.9])
def test_one_lot_for_a_certain_want_is_what_howmany_says(kind, wanted, days, confidence):
    exact = howmany.chances(kind, days).least_units(wanted, confidence)
    chance = enough.share(one(kind), kind, kind, days)
    found = enough.least_units(np.full(len(OFF), wanted), chance, confidence)
    if exact is None:
        assert found is None or found > 50 * wanted
    else:
        assert found == pytest.approx(exact, rel=0.05, abs=1)


def test_several_lots_against_draws_of_another_kind():
    """Two lots of one kind share what is not known of its mean, and differ in all else."""
    rng = np.random.default_rng(7)
    draws = 300_000
    mean = 1 / (1 + np.exp(-(KIND.mean + KIND.sd * rng.standard_normal(draws))))
    precision = 1 / KIND.rho - 1
    pots = np.zeros(draws, dtype=int)
    for units, days in ((60, 170), (50, 150)):
        rate = rng.beta(mean * precision, (1 - mean) * precision)
        own = KIND.log_days + KIND.log_days_sd * rng.standard_normal(draws)
        share = norm.cdf((np.log(days) - own) / KIND.spread)
        pots += rng.binomial(units, rate * KIND.survival * share)
    expected = (pots >= 50).mean()
    lots = enough.lots(KIND, OFF, 2, np.random.default_rng(3))
    first = enough.made(lots[0], 60, [enough.share(lots[0], KIND, KIND, 170)])[0]
    needs = np.maximum(50 - first, 0)
    found = enough.reached(needs, 50, enough.share(lots[1], KIND, KIND, 150))
    assert found == pytest.approx(expected, abs=0.02)


def test_what_lots_have_in_common_moves_them_together():
    lots = enough.lots(KIND, OFF, 2, np.random.default_rng(5))
    together = np.corrcoef(lots[0].rate, lots[1].rate)[0, 1]
    apart = enough.lots(replace(KIND, sd=0.0), OFF, 2, np.random.default_rng(5))
    assert together > 0.3
    assert abs(np.corrcoef(apart[0].rate, apart[1].rate)[0, 1]) < 0.1


def test_pots_of_a_lot_come_to_stay():
    lot = one()
    chances = [enough.share(lot, KIND, KIND, days) for days in (0, 120, 150, 200, np.inf)]
    counts = enough.made(lot, 80, chances)
    assert counts[0].max() == 0
    for before, after in pairwise(counts):
        assert (after >= before).all()
    assert counts[-1].max() <= 80


def test_nothing_needed_nothing_stuck_and_what_cannot_be_is_none():
    lot = one()
    chance = enough.share(lot, KIND, KIND, np.inf)
    assert enough.least_units(np.zeros(len(OFF), dtype=int), chance, 0.9) == 0
    assert enough.least_units(np.full(len(OFF), 5), np.zeros(len(OFF)), 0.9) is None
    assert enough.least_units(np.full(len(OFF), 10**9), chance, 0.9) is None
    some = np.where(np.arange(len(OFF)) % 20 == 0, 5, 0)  # needed in 1 of 20 cases alone
    assert enough.least_units(some, chance, 0.9) == 0
    assert enough.least_units(some, chance, 0.99) > 4
