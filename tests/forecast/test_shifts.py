"""Whether something changed, by how far outcomes lie to one side of their forecasts: asked soon
where it did, and hardly ever where it did not (at length: `python -m tests.bench.asking`)."""

import numpy as np
import pytest
from scipy.stats import truncnorm

from lots.forecast import shifts
from tests.forecast.asking import YEAR, asked
from tests.forecast.changing import changing

# In one process, which takes them one after the other.
pytestmark = pytest.mark.xdist_group("changing")
STEP = 3 * YEAR


def nursery(kind, seed):
    return changing(kind, seed, "gamma", STEP + 0.85 * 365.25, years=4.0, lots=900)


@pytest.mark.parametrize("kind", ["step down", "step up"])
def test_where_a_step_was_it_is_asked_soon(kind):
    days = asked(nursery(kind, 5), ["struck"], 182)
    first = min(day for day in days if day > STEP and days[day])
    assert first - STEP < 180


@pytest.mark.parametrize("seed", [5, 6])
def test_a_steady_nursery_is_not_asked(seed):
    days = asked(nursery("steady", seed), ["struck"], 182)
    assert len(days) > 24
    assert not any(days.values())


def test_surprises_are_means_of_what_is_left_of_a_forecast():
    """Against SciPy's truncated normal."""
    low = np.array([-np.inf, -1.0, 0.2, 1.0, -0.1, -3.0])
    high = np.array([-0.5, 0.3, 0.4, np.inf, 0.1, -1.0])
    middle, sd = np.full(6, 0.1), np.full(6, 0.5)
    expected = truncnorm((low - middle) / sd, (high - middle) / sd).mean()
    found = shifts.surprises(middle, sd, low, high)
    assert found == pytest.approx(np.clip(expected, -shifts.MOST, shifts.MOST), abs=1e-9)


def test_an_outcome_beyond_all_belief_counts_as_the_most():
    found = shifts.surprises(np.zeros(4), np.ones(4), np.array([20, 40, -41, -np.inf]),
                             np.array([21, np.inf, -40, -30]))  # fmt: skip
    assert list(found) == [shifts.MOST, shifts.MOST, -shifts.MOST, -shifts.MOST]


def test_a_shift_tells_since_when_and_of_how_many():
    days = np.repeat(np.arange(0, 300, 30), 4)
    late = np.where(days >= 210, 1.5, np.tile([-0.5, 0.5], 20))
    late[-1] = -0.2
    found = shifts.find(days, late, np.unique(days))
    assert found[:3] == (210, 12, 1)
    assert found.score > shifts.FAR
    assert shifts.find(days, -late, np.unique(days)).score == -found.score


def test_few_lots_say_nothing():
    days = np.arange(shifts.LEAST_LOTS)
    assert shifts.find(days, np.full(len(days), 2.0), np.array([0]))
    assert shifts.find(days[1:], np.full(len(days) - 1, 2.0), np.array([0])) is None
    assert shifts.find(days[:0], np.zeros(0), days[:0]) is None
