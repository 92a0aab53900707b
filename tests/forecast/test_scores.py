import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import lognorm

from tests.forecast import scores


def test_right_forecasts_have_uniform_places_and_the_band_its_share():
    rng = np.random.default_rng(0)
    mean, sd = rng.normal(4, 1, 20_000), rng.uniform(0.1, 0.4, 20_000)
    days = np.exp(mean + sd * rng.standard_normal(20_000))
    places = scores.pit(mean, sd, days, days)
    assert np.histogram(places, 5, (0, 1))[0] / 20_000 == pytest.approx([0.2] * 5, abs=0.01)
    found = scores.share_in_band(places)
    assert found.low < 0.8 < found.high


def test_an_interval_counts_by_its_middle():
    place = scores.pit(np.log([30.0]), np.array([0.2]), np.array([0.0]), np.array([30.0]))
    assert place == pytest.approx(0.25)
    assert scores.share_in_band(np.array([0.09, 0.11, 0.89, 0.91])).hits == 2


@pytest.mark.parametrize("outcome", [20.0, 36.0, 70.0])
def test_the_score_is_its_integral(outcome):
    mean, sd = np.log(36), 0.3
    cdf = lognorm(sd, scale=36).cdf
    below = quad(lambda t: cdf(t) ** 2, 0, outcome)[0]
    above = quad(lambda t: (1 - cdf(t)) ** 2, outcome, 2000, limit=200)[0]
    found = scores.crps(np.array([mean]), np.array([sd]), np.array([outcome]))
    assert found[0] == pytest.approx(below + above, rel=1e-5)
