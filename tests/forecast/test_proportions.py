import numpy as np
import pytest
from scipy.stats import binomtest

from lots.forecast.proportions import wilson


@pytest.mark.parametrize(("hits", "count"), [(0, 12), (8, 10), (10, 10), (77, 100), (1, 1)])
def test_wilson_is_scipys(hits, count):
    found = wilson(hits, count)
    expected = binomtest(hits, count).proportion_ci(0.95, method="wilson")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))
    assert found.share == hits / count


def test_nothing_to_judge_is_no_share():
    assert np.isnan(wilson(0, 0).share)


def test_more_hits_than_tries_are_refused():
    with pytest.raises(ValueError, match="can't be 3 hits of 2"):
        wilson(3, 2)
