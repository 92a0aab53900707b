import numpy as np
import pytest

from lots.forecast import weeks

RNG = np.random.default_rng


def week_edges(age, count=40):
    return np.asarray(age, dtype=float)[:, None] + 7 * np.arange(count + 1)


def finishing(days, growing, looked, spread=0.08, edges=None, key=None, draws=2000):
    m = len(growing)
    lots = weeks.Growing(
        after=np.array(looked, dtype=float),
        edges=week_edges(looked) if edges is None else edges,
        key=np.zeros(m, dtype=int) if key is None else np.array(key),
    )
    draws = np.full((draws, m), days) if np.isscalar(days) else days
    return weeks.finishing(draws, np.full(draws.shape, growing), lots, spread, RNG(0))


def test_the_spread_is_found_again():
    rng = RNG(1)
    lot, low, high, pots = [], [], [], []
    for number in range(60):
        middle = np.log(rng.uniform(60, 180))
        days = np.exp(middle + 0.12 * rng.standard_normal(40))
        looks = np.arange(0, days.max() + 5, 5)
        counts, _ = np.histogram(days, looks)
        for at in np.flatnonzero(counts):
            lot.append(str(number)), low.append(looks[at]), high.append(looks[at + 1])
            pots.append(counts[at])
    found = weeks.fit_spread(
        *(
            np.array(x, dtype=t)
            for x, t in zip((lot, low, high, pots), (str, float, float, float), strict=True)
        )
    )
    assert found == pytest.approx(0.12, rel=0.05)


def test_pots_still_growing_widen_the_spread():
    lot, low, high = np.array(["a", "a"]), np.array([100.0, 107.0]), np.array([107.0, 107.01])
    closed = weeks.fit_spread(lot, low, high, np.array([20.0, 0.0]))
    high = np.array([107.0, np.inf])
    assert weeks.fit_spread(lot, low, high, np.array([20.0, 8.0])) > closed


def test_with_no_finishes_on_record_the_spread_is_near_the_usual():
    nothing = np.array([])
    found = weeks.fit_spread(np.array([], dtype=str), nothing, nothing, nothing)
    assert weeks.SPREAD[0] <= found <= 1.5 * weeks.SPREAD[0]


def test_every_pot_comes_in_some_week_and_half_by_the_lots_own_day():
    counts = finishing(150.0, [40], [100])
    assert (counts.sum(axis=(1, 2)) == 40).all()
    by_day_150 = counts[:, 0, :7].sum(axis=1)
    assert by_day_150.mean() == pytest.approx(20, abs=2)


def test_keys_add_up_apart():
    counts = finishing(150.0, [40, 10, 5], [100, 100, 100], key=[0, 1, 0])
    assert counts.shape[1] == 2
    assert (counts[:, 0].sum(axis=1) == 45).all()
    assert (counts[:, 1].sum(axis=1) == 10).all()


def test_a_lot_far_beyond_its_time_comes_at_once():
    counts = finishing(50.0, [12], [300])
    assert (counts[:, 0, 0] == 12).all()


def test_what_should_have_come_since_the_last_look_counts_for_the_first_week():
    counts = finishing(100.0, [20], [90], edges=week_edges([130]))
    assert counts[:, 0, 0].mean() > 19


def test_no_lots_no_pots():
    none = np.array([], dtype=int)
    lots = weeks.Growing(none.astype(float), np.ones((0, 9)), none)
    counts = weeks.finishing(np.ones((5, 0)), np.ones((5, 0), dtype=int), lots, 0.1, RNG(0))
    assert counts.sum() == 0


def test_the_summary_is_mean_and_band():
    found = weeks.summary(np.array([[[0, 1]], [[2, 1]], [[4, 1]], [[6, 1]], [[8, 1]]]))
    assert found.mean.tolist() == [[4, 1]]
    assert (found.p10[0, 0], found.p50[0, 0], found.p90[0, 0]) == (0, 4, 8)
