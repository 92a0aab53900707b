import numpy as np
import pytest
from scipy.special import expit
from scipy.stats import betabinom, norm

from lots.forecast import takes
from lots.forecast.takes import Take
from tests.forecast.rows import lots

EXPECTED = (0.55, 0.95)
NONE = np.array([], dtype=int)
NOTHING = takes.fit(lots(), NONE, NONE, NONE)


def rex(*cells, **more):
    return lots(*cells, expected=EXPECTED, **more)


def fit(rows, units, taken):
    return takes.fit(rows, np.array(units), np.array(taken), np.array(taken))


def test_with_no_lots_the_forecast_is_about_the_handbook():
    found = takes.predict(NOTHING, rex("a"))
    pmf = takes.units_pmf(found, np.array([400]))
    low, high = (takes.units_quantile(pmf, share)[0] / 400 for share in (0.1, 0.9))
    assert (low, high) == pytest.approx(EXPECTED, abs=0.04)
    assert found.group_lots[0] == 0


def test_lots_narrow_the_rate_and_pull_it():
    found = [takes.predict(fit(rex(*["a"] * n), [48] * n, [12] * n), rex("a")) for n in (1, 5, 40)]
    rates = [takes.mean_rate(f)[0] for f in found]
    widths = [(takes.rate_quantile(f, 0.9) - takes.rate_quantile(f, 0.1))[0] for f in found]
    assert 0.8 > rates[0] > rates[1] > rates[2]
    assert rates[2] == pytest.approx(0.25, abs=0.03)
    assert widths[0] > widths[1] > widths[2]
    assert [f.cell_lots[0] for f in found] == [1, 5, 40]


@pytest.mark.parametrize("taken", [0, 48])
def test_all_lost_and_all_taken(taken):
    found = takes.predict(fit(rex(*"aaaa"), [48] * 4, [taken] * 4), rex("a"))
    rate = takes.mean_rate(found)[0]
    assert rate < 0.3 if taken == 0 else rate > 0.9
    assert 0 < rate < 1


def test_lots_that_differ_more_than_chance_say_less():
    alike = fit(rex(*["a"] * 20), [48] * 20, [34] * 20)
    unlike = fit(rex(*["a"] * 20), [48] * 20, [20, 48] * 10)
    assert unlike.rho > 3 * alike.rho
    assert takes.predict(unlike, rex("a")).sd[0] > takes.predict(alike, rex("a")).sd[0]


def test_losses_of_an_open_lot_lower_the_rate_and_holding_units_raise_it():
    def rate(least, most):
        known = takes.fit(rex("a"), np.array([48]), np.array([least]), np.array([most]))
        return takes.mean_rate(takes.predict(known, rex("a")))[0]

    assert rate(0, 20) < rate(0, 40) < rate(0, 48) < rate(30, 48) < rate(46, 48)


def test_a_lot_that_says_nothing_changes_nothing_and_is_not_counted():
    known = takes.fit(rex("a"), np.array([48]), np.array([0]), np.array([48]))
    found, before = takes.predict(known, rex("a")), takes.predict(NOTHING, rex("a"))
    assert found.group_lots[0] == 0
    assert (found.mean, found.sd) == (before.mean, before.sd)


@pytest.mark.parametrize(
    ("stuck", "lost", "looked_at", "rooted", "done", "expected"),
    [
        (48, 10, 38, 30, True, (48, 30, 30)),  # done: what struck
        (48, 8, 0, 0, False, (48, 0, 40)),  # never looked at: its losses
        (48, 8, 40, 25, False, (48, 25, 40)),  # all looked at
        (48, 8, 10, 7, False, (12, 7, 10)),  # a quarter of the living, with a quarter of the lost
        (48, 48, 0, 0, False, (48, 0, 0)),  # all lost
        (48, 44, 10, 3, False, (48, 3, 4)),  # looked at before most were lost
    ],
)
def test_what_a_lot_says(stuck, lost, looked_at, rooted, done, expected):
    found = takes.bounds(*(np.array([value]) for value in (stuck, lost, looked_at, rooted, done)))
    assert tuple(int(values[0]) for values in found) == expected


def test_the_units_to_come_against_brute_quadrature():
    found = Take(np.array([0.8]), np.array([0.6]), 0.07, np.array([3]), np.array([3]))
    grid = np.linspace(0.8 - 6 * 0.6, 0.8 + 6 * 0.6, 4001)
    weight = norm.pdf(grid, 0.8, 0.6)
    weight /= weight.sum()
    heads = 1 / 0.07 - 1
    expected = np.array(
        [
            weight @ betabinom.pmf(k, 48, expit(grid) * heads, expit(-grid) * heads)
            for k in range(49)
        ]
    )
    pmf = takes.units_pmf(found, np.array([48]))
    assert pmf[0] == pytest.approx(expected, abs=1e-6)
    open_lot = takes.between(pmf, np.array([20]), np.array([40]))[0]
    expected[:20] = expected[41:] = 0
    assert open_lot == pytest.approx(expected / expected.sum(), abs=1e-6)
    assert takes.mean_rate(found)[0] == pytest.approx(weight @ expit(grid), abs=1e-6)


def test_quantiles_and_draws_of_units_agree():
    found = Take(np.array([0.8, -1]), np.array([0.6, 0.3]), 0.07, NONE, NONE)
    pmf = takes.units_pmf(found, np.array([48, 20]))
    draws = takes.units_at(pmf, np.random.default_rng(0).uniform(size=(20_000, len(pmf))))
    assert draws.max(axis=0)[1] <= 20
    for share in (0.1, 0.5, 0.9):
        expected = takes.units_quantile(pmf, share)
        assert np.quantile(draws, share, axis=0) == pytest.approx(expected, abs=1)


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="Of lot 0 between 5 and 60 of 48 units"):
        takes.fit(rex("a"), np.array([48]), np.array([5]), np.array([60]))
