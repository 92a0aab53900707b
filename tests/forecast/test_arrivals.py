"""The days on which single pots come: what a lot's first pots and its stages say of the others."""

from datetime import date

import numpy as np
import pytest

from lots.forecast import arrivals, durations

SPREAD = 0.08


def days(median=150.0, sd=0.15, lots=1):
    count = np.full(lots, 5)
    return durations.LogDays(np.full(lots, np.log(median)), np.full(lots, sd), count, count)


def nodes(after=0.0, before=np.inf, **of):
    found = days(**of)
    m = len(found.mean)
    return arrivals.nodes(found, np.full(m, float(after)), np.full(m, float(before)))


def test_the_nodes_hold_the_band():
    found = nodes()[list(arrivals.BAND), 0]
    exact = [durations.quantile(days(), share)[0] for share in (0.1, 0.5, 0.9)]
    assert found == pytest.approx(exact)
    assert (np.diff(nodes(after=170)[:, 0]) > 0).all()
    assert nodes(after=170)[0, 0] > 170
    assert nodes(before=130)[-1, 0] < 130


def test_as_many_days_as_pots_half_of_them_by_the_lots_own_day():
    found = arrivals.pot_days(nodes()[:, 0], 100, 41, SPREAD)
    assert len(found) == 41
    assert (np.diff(found) >= 0).all()
    assert found[20] == pytest.approx(150, rel=0.02)
    # Of the lot's own scatter and of single pots within it.
    sd = np.hypot(0.15, SPREAD)
    assert np.log(found[36] / found[4]) == pytest.approx(2 * 1.28 * sd, rel=0.1)
    assert len(arrivals.pot_days(nodes()[:, 0], 100, 0, SPREAD)) == 0


def test_none_comes_before_it_can_and_the_overdue_come_at_once():
    assert arrivals.pot_days(nodes()[:, 0], 160, 9, SPREAD).min() > 160
    late = arrivals.pot_days(nodes(median=50)[:, 0], 300, 12, SPREAD)
    assert late == pytest.approx(300, rel=0.01)


def test_the_first_pots_say_when_the_others_come():
    wide = nodes(sd=0.3, after=100)

    def told(done, pots, looked=100.0):
        values = (np.array([float(value)]) for value in (done, pots, looked))
        return arrivals.condition_on_first_pots(wide, *values, SPREAD)[:, 0]

    assert told(0, 40) == pytest.approx(wide[:, 0])
    # A quarter is there at 100 days: half is expected at about 100 exp(0.08 · 0.67) = 105.
    assert told(10, 40)[12] == pytest.approx(105, rel=0.06)
    assert told(2, 40)[12] > told(10, 40)[12]
    assert (np.diff(told(10, 40)) >= 0).all()


def test_draws_keep_their_ranks_and_take_the_new_days():
    rng = np.random.default_rng(3)
    before = nodes(lots=2)
    after = np.column_stack([before[:, 0], np.maximum(before[:, 1], 160)])
    draws = np.exp(np.log(150) + 0.15 * rng.standard_normal((4000, 2)))
    found = arrivals.move_by_rank(draws, before, after)
    assert (found[:, 0] == draws[:, 0]).all()
    assert found[:, 1].min() == pytest.approx(160)
    order = np.argsort(draws[:, 1])
    assert (np.diff(found[order, 1]) >= -1e-9).all()
    assert np.quantile(found[:, 1], 0.9) == pytest.approx(np.quantile(draws[:, 1], 0.9), rel=0.01)


def test_days_by_iso_week():
    """2026 has a week 53, from 28 December to 3 January."""
    dates = [date(2026, 12, 27), date(2026, 12, 28), date(2027, 1, 1), date(2027, 1, 3)]
    dates.append(date(2027, 1, 4))
    found = arrivals.by_week(np.array([day.toordinal() for day in dates]))
    assert [(date.fromordinal(day), pots) for day, pots in found] == [
        (date(2026, 12, 27), 1),
        (date(2027, 1, 1), 3),
        (date(2027, 1, 4), 1),
    ]
