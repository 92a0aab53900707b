import numpy as np
import pytest

from lots.forecast import scales
from lots.forecast.effects import NoConvergence


def test_a_gaussian_evidence_settles_at_its_mean_plus_its_variance():
    mean, covariance = np.array([-2.0, -1.5]), np.array([[0.04, 0.01], [0.01, 0.09]])
    inverse = np.linalg.inv(covariance)

    def log_evidence(x):
        return float(-0.5 * (x - mean) @ inverse @ (x - mean))

    found = scales.empirical_bayes(log_evidence, np.array([0.0, 0.0]))
    assert found == pytest.approx(mean + np.diag(covariance), abs=5e-3)


def test_it_settles_from_where_the_evidence_is_not_concave():
    found = scales.empirical_bayes(
        lambda x: float(-10 * np.log1p((x[0] + 1) ** 2)), np.array([4.0])
    )
    assert found[0] == pytest.approx(-1 + 1 / 20, abs=1e-2)


def test_evidence_that_rises_for_ever_is_refused():
    with pytest.raises(NoConvergence, match="didn't settle"):
        scales.empirical_bayes(lambda x: float(x[0]), np.array([0.0]))
