import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binomtest, lognorm

from lots.forecast import calibration


@pytest.mark.parametrize(("hits", "count"), [(0, 12), (8, 10), (10, 10), (77, 100), (1, 1)])
def test_wilson_is_scipys(hits, count):
    found = calibration.wilson(hits, count)
    expected = binomtest(hits, count).proportion_ci(0.95, method="wilson")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))
    assert found.share == hits / count


def test_nothing_to_judge_is_no_share():
    assert np.isnan(calibration.wilson(0, 0).share)


def test_more_hits_than_tries_are_refused():
    with pytest.raises(ValueError, match="can't be 3 hits of 2"):
        calibration.wilson(3, 2)


def test_right_forecasts_have_uniform_places_and_the_band_its_share():
    rng = np.random.default_rng(0)
    mean, sd = rng.normal(4, 1, 20_000), rng.uniform(0.1, 0.4, 20_000)
    days = np.exp(mean + sd * rng.standard_normal(20_000))
    places = calibration.pit(mean, sd, days, days)
    assert np.histogram(places, 5, (0, 1))[0] / 20_000 == pytest.approx([0.2] * 5, abs=0.01)
    found = calibration.share_in_band(places)
    assert found.low < 0.8 < found.high


def test_an_interval_counts_by_its_middle():
    place = calibration.pit(np.log([30.0]), np.array([0.2]), np.array([0.0]), np.array([30.0]))
    assert place == pytest.approx(0.25)
    assert calibration.share_in_band(np.array([0.09, 0.11, 0.89, 0.91])).hits == 2


@pytest.mark.parametrize("outcome", [20.0, 36.0, 70.0])
def test_the_score_is_its_integral(outcome):
    mean, sd = np.log(36), 0.3
    cdf = lognorm(sd, scale=36).cdf
    below = quad(lambda t: cdf(t) ** 2, 0, outcome)[0]
    above = quad(lambda t: (1 - cdf(t)) ** 2, outcome, 2000, limit=200)[0]
    found = calibration.crps(np.array([mean]), np.array([sd]), np.array([outcome]))
    assert found[0] == pytest.approx(below + above, rel=1e-5)
