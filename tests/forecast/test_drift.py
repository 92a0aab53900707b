import numpy as np
import pytest

from lots.forecast import drift, sparse
from lots.forecast.drift import QUARTER


def test_lots_of_one_quarter_have_no_level_of_their_own():
    assert drift.knots(np.array([10.0, 80.0]))[1] == 0
    assert drift.knots(np.array([np.nan]))[1] == 0
    assert drift.knots(np.array([]))[1] == 0


def test_there_is_a_knot_for_each_quarter_and_some_for_those_to_come():
    first, count = drift.knots(np.array([np.nan, 100.0, 100 + 3.5 * QUARTER]))
    assert (first, count) == (100.0, 4 + 1 + drift.AHEAD)


def test_between_two_knots_the_level_runs_straight_and_ends_at_the_last():
    days = 50 + QUARTER * np.array([-1, 0, 0.25, 2, 2.5, 99])
    found = drift.columns(days, 50.0, 4).times(np.array([0.0, 1.0, 5.0, 7.0]))
    assert found == pytest.approx([0, 0, 0.25, 5, 6, 7])


def test_the_precision_is_that_of_drawn_levels():
    """Steps and a fading direction drawn one by one."""
    rng = np.random.default_rng(0)
    walk, trend, count, draws = 0.03, 0.02, 6, 200_000
    level, direction = np.zeros((draws, count)), rng.normal(0, trend, draws)
    for knot in range(1, count):
        level[:, knot] = level[:, knot - 1] + direction + rng.normal(0, walk, draws)
        fresh = trend * np.sqrt(1 - drift.DAMPING**2)
        direction = drift.DAMPING * direction + rng.normal(0, fresh, draws)
    covariance = np.linalg.inv(drift.precision(count, walk, trend))
    assert covariance[1:, 1:] == pytest.approx(np.cov(level.T)[1:, 1:], rel=0.02)


def test_a_sparse_matrix_is_the_dense_one():
    rng = np.random.default_rng(1)
    dense = rng.normal(size=(5, 3))
    parts = sparse.of_dense(dense), drift.columns(np.array([0.0, 9, 99, 200, 400]), 0.0, 5)
    both = sparse.side_by_side(*parts)
    whole = both.dense()
    assert whole[:, :3] == pytest.approx(dense)
    assert whole[:, 3:] == pytest.approx(parts[1].dense())
    weights, vector = rng.normal(size=5), rng.normal(size=8)
    assert both.times(vector) == pytest.approx(whole @ vector)
    assert both.sums(weights) == pytest.approx(whole.T @ weights)
