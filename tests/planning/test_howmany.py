"""How many units to stick: what must hold whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lots.planning import howmany
from lots.planning.howmany import MOST_UNITS, Kind

kinds = st.builds(
    Kind,
    mean=st.floats(-3, 4),
    sd=st.floats(0, 1.5),
    rho=st.floats(0, 0.6),
    pieces=st.just(3),
    least=st.integers(1, 3),
    survival=st.floats(0.3, 1),
    log_days=st.floats(3, 6),
    log_days_sd=st.floats(0.02, 0.5),
    spread=st.floats(0.02, 0.3),
)


@settings(deadline=None, max_examples=60)
@given(kinds, st.integers(1, 300), st.floats(0.5, 0.99), st.floats(0, 500))
def test_it_is_the_least_number_that_does(kind, wanted, confidence, days):
    of = howmany.chances(kind, days)
    assert of.weights.sum() == pytest.approx(1)
    assert (of.theta >= 0).all()
    assert (of.theta <= 1).all()
    units = of.least_units(wanted, confidence)
    if units is None:
        assert of.at_least(wanted, MOST_UNITS) < confidence
        return
    assert units >= wanted
    assert of.at_least(wanted, units) >= confidence
    assert of.at_least(wanted, units - 1) < confidence


@settings(deadline=None, max_examples=60)
@given(kinds, st.integers(1, 100), st.integers(1, 300), st.floats(20, 400))
def test_more_units_and_more_days_never_lower_the_chance(kind, wanted, units, days):
    of, later = howmany.chances(kind, days), howmany.chances(kind, days + 20)
    assert of.at_least(wanted, units + 10) >= of.at_least(wanted, units) - 1e-9
    assert later.at_least(wanted, units) >= of.at_least(wanted, units) - 1e-3
    assert of.at_least(wanted + 1, units) <= of.at_least(wanted, units) + 1e-9


def test_less_known_needs_more():
    kind = Kind(0.8, 0.0, 0.02, 1, 1, 1.0, 5.0, 0.1, 0.08)
    apart = Kind(0.8, 0.6, 0.02, 1, 1, 1.0, 5.0, 0.1, 0.08)
    few = howmany.chances(kind).least_units(40, 0.9)
    assert howmany.chances(apart).least_units(40, 0.9) > few
    assert howmany.chances(kind).least_units(40, 0.99) > few


def test_what_never_takes_or_has_no_time_needs_no_number():
    never = Kind(-30.0, 0.0, 0.0, 1, 1, 1.0, 5.0, 0.1, 0.08)
    assert howmany.chances(never).least_units(1, 0.5) is None
    usual = Kind(1.0, 0.2, 0.05, 1, 1, 1.0, 5.0, 0.1, 0.08)
    assert howmany.chances(usual, 0.0).least_units(1, 0.5) is None
    assert howmany.chances(usual, 30.0).least_units(40, 0.9) is None


def test_a_lots_own_rates_have_the_mean_of_their_kind():
    kind = Kind(0.4, 0.5, 0.1, 1, 1, 1.0, 5.0, 0.1, 0.08)
    rates, weights = howmany.lot_rates(kind)
    draws = np.random.default_rng(1).standard_normal(400_000) * 0.5 + 0.4
    assert weights @ rates == pytest.approx((1 / (1 + np.exp(-draws))).mean(), abs=1e-3)
    low, high = howmany.rate_quantiles(kind, (0.1, 0.9))
    assert weights[rates < low].sum() == pytest.approx(0.1, abs=0.01)
    assert weights[rates > high].sum() == pytest.approx(0.1, abs=0.01)
