from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, truncnorm

from lots.forecast import durations
from lots.forecast.durations import LogDays
from lots.forecast.lotrows import NURSERY_SD
from tests.forecast.rows import join, lots

INF = np.inf
NOTHING = durations.fit(lots(), np.array([]), np.array([]))


def fit(rows, days, gap=7.0):
    """Fit lots that got there at `days`, looked at every `gap` days."""
    high = np.ceil(np.asarray(days, dtype=float) / gap) * gap
    return durations.fit(rows, np.where(np.isinf(high), 60.0, high - gap), high)


def band(days):
    return [durations.quantile(days, share)[0] for share in (0.1, 0.5, 0.9)]


def test_with_no_lots_the_forecast_is_the_handbook():
    found = durations.predict(NOTHING, lots("a"))
    assert band(found) == pytest.approx([28, np.sqrt(28 * 49), 49])
    assert found.cell_lots[0] == found.group_lots[0] == 0


def test_one_lot_moves_the_forecast_a_little_and_many_move_it_there():
    days = [durations.predict(fit(lots(*["a"] * n), [60] * n), lots("a")) for n in (1, 4, 40)]
    middles = [band(d)[1] for d in days]
    widths = [d.sd[0] for d in days]
    assert 37 < middles[0] < middles[1] < middles[2]
    assert middles[2] == pytest.approx(60, abs=4)
    assert widths[0] > widths[1] > widths[2]
    assert [d.cell_lots[0] for d in days] == [1, 4, 40]


def test_a_variety_learns_from_its_group_and_a_new_method_only_from_the_nursery():
    known = fit(lots(*"aabbccdd"), [60] * 8)
    sibling = durations.predict(known, lots("new"))
    other = durations.predict(known, lots("new", group="cane, tip", expected=(16, 32)))
    assert (sibling.cell_lots[0], sibling.group_lots[0]) == (0, 8)
    assert band(sibling)[1] > 50
    assert sibling.sd[0] > durations.predict(known, lots("a")).sd[0]
    assert other.group_lots[0] == 0
    # The whole nursery seems slower than the handbook; the handbook's width stands.
    assert band(other)[1] > np.sqrt(16 * 32)
    assert other.sd[0] == pytest.approx(
        durations.handbook_moments(lots("x", expected=(16, 32)))[1][0]
    )


def test_lots_not_there_yet_make_the_forecast_later():
    there = fit(lots(*"aaaa"), [40] * 4)
    waiting = fit(lots(*"aaaaaa"), [40] * 4 + [INF] * 2)
    assert (
        band(durations.predict(waiting, lots("a")))[1]
        > band(durations.predict(there, lots("a")))[1]
    )
    assert durations.predict(waiting, lots("a")).cell_lots[0] == 4


def test_all_lots_unfinished_or_all_there_at_the_first_look():
    late = durations.fit(lots(*"ab"), np.array([80.0, 90.0]), np.array([INF, INF]))
    early = durations.fit(lots(*"ab"), np.array([0.0, 0.0]), np.array([14.0, 14.0]))
    expected = np.sqrt(28 * 49)
    assert band(durations.predict(late, lots("a")))[1] > expected
    assert band(durations.predict(early, lots("a")))[1] < expected


def test_season_is_learned_and_a_leap_day_is_a_day():
    rng = np.random.default_rng(0)
    day = rng.uniform(1, 366, 200)
    rows = lots(*["a"] * 200)
    rows.day_of_year[:] = day
    known = fit(rows, 40 * np.exp(0.3 * np.cos(2 * np.pi * day / 365.25)), gap=2.0)
    winter, summer = (band(durations.predict(known, lots("a", day=d)))[1] for d in (366, 183))
    assert winter == pytest.approx(40 * np.exp(0.3), rel=0.05)
    assert summer == pytest.approx(40 * np.exp(-0.3), rel=0.05)


@pytest.mark.parametrize("expected", [(122, 210), (28, 49)])
@pytest.mark.parametrize("number", [1, 2, 4, 8])
def test_lots_of_one_season_leave_another_about_as_sure_as_the_handbook(expected, number):
    """The handbook's range holds the whole year. Lots that were all stuck in March say less of
    September than of March, but they don't undo what it says."""
    rng = np.random.default_rng(number)
    middle = np.sqrt(expected[0] * expected[1])
    march = lots(*["a"] * number, expected=expected, day=80)
    known = fit(march, middle * np.exp(0.12 * rng.standard_normal(number)))
    widths = []
    for day in (80, 170, 260):
        p10, _, p90 = band(durations.predict(known, lots("a", expected=expected, day=day)))
        widths.append(np.log(p90 / p10) / np.log(expected[1] / expected[0]))
    assert widths == sorted(widths)
    assert widths[0] < 0.95
    assert widths[2] < 1.25


def test_a_larger_pot_takes_longer_where_the_book_says_so():
    rows = join(lots(*["a"] * 20, pot=8), lots(*["a"] * 20, pot=14))
    known = fit(rows, [120] * 20 + [170] * 20)
    small, usual, large = (
        band(durations.predict(known, lots("a", pot=cm)))[1] for cm in (8, np.nan, 14)
    )
    assert small < usual < large
    assert large / small == pytest.approx(170 / 120, rel=0.05)


def test_a_pot_not_known_yet_widens_the_band_where_pots_matter():
    rows = join(lots(*["a"] * 20, pot=8), lots(*["a"] * 20, pot=14))
    known = replace(lots("a", pot=10.6), pot_var=np.array([0.28**2]))
    for matters, days in ((True, [120] * 20 + [170] * 20), (False, [140] * 40)):
        found = fit(rows, days)
        sure, guessed = (durations.predict(found, of) for of in (lots("a", pot=10.6), known))
        assert guessed.mean == sure.mean
        wider = guessed.sd[0] ** 2 - sure.sd[0] ** 2
        by_pot = np.log(170 / 120) / np.log(14 / 8)
        assert wider == pytest.approx((by_pot * 0.28) ** 2 if matters else 0, rel=0.3, abs=1e-4)
        draws = durations.draw(found, known, 4000, np.random.default_rng(2))
        assert np.log(draws).std() == pytest.approx(guessed.sd[0], rel=0.06)


def test_a_lot_in_progress_is_forecast_from_where_it_stands():
    """Against the truncated normal by quadrature."""
    days = LogDays(np.array([np.log(36.0)]), np.array([0.2]), np.array([1]), np.array([1]))
    for after, before in [(0, INF), (30, INF), (30, 50), (80, INF), (0, 40)]:
        with np.errstate(divide="ignore"):
            ends = np.log([after, before])
        density = norm(np.log(36.0), 0.2).pdf
        whole = quad(density, max(ends[0], 0), min(ends[1], 8), points=[np.log(36)], limit=200)[0]
        for share in (0.1, 0.5, 0.9):
            at = durations.quantile(days, share, after, before)[0]
            assert after < at < before
            part = quad(density, max(ends[0], 0), np.log(at), limit=200)[0]
            assert part / whole == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("before", [1.0, 3.0, 10.0, 20.0, 60.0, 400.0, 2000.0])
def test_what_came_far_too_early_or_late_lies_in_its_interval(before):
    """Up to forty standard deviations off."""
    days = LogDays(np.array([np.log(36.0)]), np.array([0.1]), np.array([1]), np.array([1]))
    shares = (0.001, 0.1, 0.5, 0.9, 0.999)
    at = [durations.quantile(days, share, before - 1, before)[0] for share in shares]
    assert np.isfinite(at).all()
    assert (np.diff([before - 1, *at, before]) > -1e-9).all()


def test_a_lot_far_beyond_its_time_is_expected_soon():
    days = LogDays(np.array([np.log(36.0)]), np.array([0.1]), np.array([1]), np.array([1]))
    p10, p50, p90 = (durations.quantile(days, share, after=400)[0] for share in (0.1, 0.5, 0.9))
    assert 400 < p10 < p50 < p90 < 420


def test_draws_agree_with_the_quantiles_and_lots_of_a_variety_move_together():
    known = fit(lots(*"aabbcc"), [30, 33, 40, 44, 35, 38])
    rows = join(lots("a", "a", "new"), lots("x", group="cane, tip", expected=(16, 32)))
    draws = durations.draw(known, rows, 40_000, np.random.default_rng(0))
    found = durations.predict(known, rows)
    for share in (0.1, 0.5, 0.9):
        expected = durations.quantile(found, share)
        assert np.quantile(draws, share, axis=0) == pytest.approx(expected, rel=0.02)
    assert np.corrcoef(np.log(draws[:, :2].T))[0, 1] > 0.1
    late = durations.draw(known, rows, 100, np.random.default_rng(0), after=np.full(4, 300.0))
    assert (late > 300).all()


def test_the_predictive_quantiles_are_near_brute_quadrature():
    """One variety, a handful of lots, scales held where the fit put them: integrate over the
    lot mean on a grid."""
    low, high = np.array([28.0, 35.0, 49.0, 42.0]), np.array([35.0, 42.0, 56.0, INF])
    known = durations.fit(lots(*"aaaa"), low, high)
    mean, sd = (moment[0] for moment in durations.handbook_moments(lots("a")))
    group_var = max(sd**2 - (durations.SCALES**2).sum(), (sd / 2) ** 2)
    prior_sd = np.sqrt(group_var + known.taus.variety**2 + known.taus.cell**2 + NURSERY_SD**2)
    grid = np.linspace(mean - 6 * prior_sd, mean + 6 * prior_sd, 4001)
    with np.errstate(divide="ignore"):
        a, b = np.log(low)[:, None] - grid, np.log(high)[:, None] - grid
    likelihood = (norm.cdf(b / known.sigma) - norm.cdf(a / known.sigma)).prod(axis=0)
    weight = likelihood * norm.pdf(grid, mean, prior_sd)
    weight /= weight.sum()
    found = durations.predict(known, lots("a"))
    for share in (0.1, 0.5, 0.9):
        at = np.log(durations.quantile(found, share)[0])
        assert (weight * norm.cdf((at - grid) / known.sigma)).sum() == pytest.approx(
            share, abs=0.01
        )


def test_an_empty_interval_is_refused():
    with pytest.raises(ValueError, match="Lot 1 would have got there between day 30 and day 20"):
        durations.fit(lots("a", "a"), np.array([1.0, 30.0]), np.array([5.0, 20.0]))


def test_lots_a_hundred_times_off_the_handbook_still_fit():
    known = fit(lots(*["a"] * 30), np.full(30, 3000.0))
    assert band(durations.predict(known, lots("a")))[1] == pytest.approx(3000, rel=0.1)


def test_lateness_is_the_residual_given_its_interval():
    known = fit(lots(*"aaaa"), [40] * 4)
    low, high = np.array([0.0, 42.0, 56.0, 0.0]), np.array([INF, 49.0, INF, 21.0])
    found = durations.lateness(known, lots(*"aaaa"), low, high)
    eta = durations.predict(known, lots("a")).mean[0]
    for lot in range(4):
        with np.errstate(divide="ignore"):
            ends = (np.log([low[lot], high[lot]]) - eta) / known.sigma
        expected = truncnorm(*ends, scale=known.sigma)
        assert found.mean[lot] == pytest.approx(expected.mean(), abs=1e-9)
        assert found.var[lot] == pytest.approx(expected.var(), rel=1e-5)
    assert found.mean[0] == 0


def test_a_lot_that_struck_late_is_expected_to_finish_late_where_the_book_says_so():
    rng = np.random.default_rng(0)
    late = rng.normal(0, 0.2, 120)
    rows = replace(lots(*["a"] * 120, expected=(122, 210)), late=late)
    lasting = fit(rows, 160 * np.exp(0.8 * late + rng.normal(0, 0.05, 120)))
    passing = fit(rows, 160 * np.exp(rng.normal(0, 0.1, 120)))

    def middle_and_width(known, late, var):
        row = replace(
            lots("a", expected=(122, 210)), late=np.array([late]), late_var=np.array([var])
        )
        found = durations.predict(known, row)
        return band(found)[1], found.sd[0]

    on_time, late_one = middle_and_width(lasting, 0, 0), middle_and_width(lasting, 0.3, 0)
    assert late_one[0] / on_time[0] == pytest.approx(np.exp(0.8 * 0.3), rel=0.03)
    unknown = middle_and_width(lasting, 0, 0.04)
    assert unknown[0] == pytest.approx(on_time[0])
    assert unknown[1] == pytest.approx(np.hypot(on_time[1], 0.8 * 0.2), rel=0.1)
    assert middle_and_width(passing, 0.3, 0)[0] == pytest.approx(160, rel=0.06)
