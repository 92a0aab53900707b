"""Nurseries that follow the plan, a year each, against a truth that the fit has never seen; 200 of
them in `python -m tests.bench.years`."""

from functools import cache

import numpy as np
import pytest

from tests.planning.years import Outcome, year

pytestmark = pytest.mark.xdist_group("nurseries")
YEARS = [(11, "lognormal"), (12, "weibull"), (13, "gamma")]


@cache
def outcomes(times: int) -> tuple[Outcome, ...]:
    return tuple(one for which in YEARS for one in year(*which, targets=36 // times, times=times))


def test_targets_are_met_as_often_as_asked():
    found = outcomes(1)
    asked = np.mean([one.sure for one in found])
    error = 2.5 * np.sqrt(asked * (1 - asked) / len(found))
    assert np.mean([one.met for one in found]) == pytest.approx(asked, abs=error)


def test_what_comes_again_is_met_as_often_as_asked_at_least():
    """The lots of the next time help out, and those of the last are robbed by those before."""
    found = outcomes(3)
    asked = np.mean([one.sure for one in found])
    error = 2.5 * np.sqrt(asked * (1 - asked) / (len(found) / 3))
    assert np.mean([one.met for one in found]) > asked - error
    assert np.mean([one.met for one in found[2::3]]) > asked - error
    alone = outcomes(1)
    ratio = [sum(o.units for o in some) / sum(o.divided for o in some) for some in (found, alone)]
    assert ratio[0] < ratio[1]


def test_dividing_falls_short_far_more_often_and_a_fifth_more_too():
    found = outcomes(1)
    met = np.mean([one.met for one in found])
    for factor in (1.0, 1.2):
        assert np.mean([one.met_by[factor] for one in found]) < met
