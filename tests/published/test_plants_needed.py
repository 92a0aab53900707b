"""How many plants are needed for at least r of a kind, where each is with chance p."""

import csv
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import scipy

from lots.planning import howmany
from lots.planning.howmany import Kind

TABLE = Path(__file__).parent / "data" / "plants_needed.csv"


def sure(p: float, rho: float = 0.0, pieces: int = 1, least: int = 1, **known) -> Kind:
    """Lots of whose kind all is known, on which time and growing on have no hold."""
    days = {"log_days": 5.0, "log_days_sd": 0.1, "spread": 0.08}
    given = {"sd": 0.0, "survival": 1.0} | days | known
    return Kind(float(scipy.special.logit(p)), rho=rho, pieces=pieces, least=least, **given)


def rows():
    with TABLE.open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


@pytest.mark.parametrize("chance", sorted({row["prob"] for row in rows()}))
def test_the_published_table_of_plants_needed(chance):
    """The quantity of Sedcole 1977, Crop Science 17:667-668; the figures were computed with SciPy
    1.17.1 as quantiles of the negative binomial."""
    table = [row for row in rows() if row["prob"] == chance]
    assert len(table) > 40
    for row in table:
        of = howmany.chances(sure(float(Fraction(row["p"]))))
        assert of.least_units(int(row["r"]), float(chance)) == int(row["n"])


@pytest.mark.parametrize("rho", [0.02, 0.1, 0.3])
@pytest.mark.parametrize("p", [0.3, 0.5, 0.85])
def test_one_flat_is_beta_binomial(p, rho):
    """Against SciPy's beta-binomial."""
    precision = 1 / rho - 1
    of = howmany.chances(sure(p, rho))
    for units in (20, 60, 150):
        exact = scipy.stats.betabinom.sf(29, units, p * precision, (1 - p) * precision)
        assert of.at_least(30, units) == pytest.approx(exact, abs=2e-4)


def test_forty_pots_of_cuttings_of_which_half_take():
    """Worked values: SciPy's binomial and beta-binomial; of independent flats by convolution."""
    assert howmany.chances(sure(0.5)).least_units(40, 0.9) == 92
    assert howmany.chances(sure(0.5)).at_least(40, 80) == pytest.approx(0.5445, abs=1e-4)
    assert howmany.chances(sure(0.5, 0.1)).least_units(40, 0.9) == 140
    flats = [howmany.flats_at_least(sure(0.5, 0.1), 24, 40, units) for units in (102, 103)]
    assert flats[0] < 0.9 <= flats[1]


def test_one_flat_of_all_is_one_lot():
    kind = sure(0.6, 0.08, sd=0.4, survival=0.95)
    whole = howmany.chances(kind).at_least(30, 60)
    assert howmany.flats_at_least(kind, 60, 30, 60) == pytest.approx(whole, abs=1e-3)


@pytest.mark.parametrize(
    ("p", "pieces", "least", "full"), [(0.5, 2, 1, 0.75), (0.5, 3, 2, 0.5), (0.7, 3, 2, 0.784)]
)
def test_a_pot_of_several_pieces(p, pieces, least, full):
    """By the binomial: 1 of 2, 2 of 3."""
    assert howmany.mean_pot_chance(sure(p, 0.0, pieces, least)) == pytest.approx(full)


@pytest.mark.parametrize("days", [130.0, 150.0, 175.0, np.inf])
def test_a_million_draws(days):
    """Everything at once: what is known of the kind, lots apart, pots of three pieces, losses, the
    lot's day and its pots about it."""
    kind = Kind(0.8, 0.35, 0.08, 3, 2, 0.93, float(np.log(145)), 0.11, 0.07)
    rng, count = np.random.default_rng(8), 1_000_000
    mean = scipy.special.expit(kind.mean + kind.sd * rng.standard_normal(count))
    precision = 1 / kind.rho - 1
    rate = rng.beta(mean * precision, (1 - mean) * precision)
    full = 3 * rate**2 * (1 - rate) + rate**3
    own = kind.log_days + kind.log_days_sd * rng.standard_normal(count)
    in_time = scipy.special.ndtr((np.log(days) - own) / kind.spread)
    pots = rng.binomial(60, full * kind.survival * in_time)
    of = howmany.chances(kind, days)
    for wanted in (10, 25, 40, 50):
        assert of.at_least(wanted, 60) == pytest.approx((pots >= wanted).mean(), abs=0.003)
