"""Nurseries that follow the plan, a year each, against a truth that the fit has never seen; 200 of
them in `python -m tests.bench.years`."""

from functools import cache

import numpy as np
import pytest

from tests.planning.years import Outcome, year

pytestmark = pytest.mark.xdist_group("nurseries")
YEARS = [(11, "lognormal"), (12, "weibull"), (13, "gamma"), (14, "lognormal"), (15, "weibull")]


@cache
def outcomes() -> tuple[Outcome, ...]:
    return tuple(one for which in YEARS for one in year(*which))


def test_targets_are_met_as_often_as_asked():
    """Three times of one series have lots in common, so they count as one."""
    found = outcomes()
    asked = np.mean([one.sure for one in found])
    error = 2.5 * np.sqrt(asked * (1 - asked) / (len(found) / 3))
    assert np.mean([one.met for one in found]) == pytest.approx(asked, abs=error)


def test_dividing_is_met_far_more_seldom_and_a_fifth_more_sticks_more():
    found = outcomes()
    assert np.mean([one.met_by[1.0] for one in found]) < 0.85
    fifth_more = sum(int(np.ceil(1.2 * one.divided)) for one in found)
    assert sum(one.units for one in found) < fifth_more
