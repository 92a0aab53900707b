import math

import numpy as np
import pytest
from scipy.stats import chi2
from statsmodels.stats.contingency_tables import StratifiedTable

from lots.forecast import trial


def tables(taken, units):
    return [np.array([[a, n - a], [c, m - c]]) for (a, c), (n, m) in zip(taken, units, strict=True)]


@pytest.mark.parametrize("seed", range(5))
def test_it_is_statsmodels_stratified_table(seed):
    rng = np.random.default_rng(seed)
    units = rng.integers(6, 30, (8, 2))
    taken = rng.binomial(units, rng.uniform(0.2, 0.9, (8, 1)) ** [1.0, 1.5])
    found = trial.judge(taken, units)
    other = StratifiedTable(tables(taken, units))
    null = other.test_null_odds(correction=False)
    assert found.chi2 == pytest.approx(null.statistic)
    assert found.p == pytest.approx(null.pvalue)
    assert found.odds_ratio == pytest.approx(other.oddsratio_pooled)
    assert (found.low, found.high) == pytest.approx(other.oddsratio_pooled_confint())


def test_plum_root_cuttings_at_once_against_spring():
    """Hoblyn and Palmer 1934 in Bartlett 1935, a stratum for each length of cutting; odds ratio
    4.177 (3.132 to 5.572) by StratifiedTable of statsmodels 0.15.0."""
    found = trial.judge(np.array([[156, 84], [107, 31]]), np.full((2, 2), 240))
    assert found.odds_ratio == pytest.approx(4.17739, abs=1e-5)
    assert (found.low, found.high) == pytest.approx((3.132, 5.572), abs=1e-3)
    assert found.p < 1e-20


def test_the_same_in_both_is_no_difference():
    found = trial.judge(np.array([[10, 10], [6, 6]]), np.full((2, 2), 12))
    assert (found.odds_ratio, found.chi2, found.p) == pytest.approx((1, 0, 1))


def test_flats_that_differ_favour_neither():
    """The first way stands mostly in the good flat: in each flat both took alike."""
    found = trial.judge(np.array([[36, 9], [3, 12]]), np.array([[40, 10], [10, 40]]))
    assert found.first > found.second
    assert found.p > 0.5


def test_all_of_one_and_none_of_the_other_has_no_upper_end():
    found = trial.judge(np.array([[12, 0]]), np.array([[12, 12]]))
    assert (found.odds_ratio, found.low, found.high) == (math.inf, 0, math.inf)
    assert found.p == pytest.approx(chi2.sf(found.chi2, 1))
    assert found.p < 0.001


def test_nothing_taken_in_either_says_nothing():
    found = trial.judge(np.array([[0, 0]]), np.array([[12, 12]]))
    assert (found.chi2, found.p) == (0, 1)
    assert math.isnan(found.odds_ratio)


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="no more can take than were stuck"):
        trial.judge(np.array([[13, 0]]), np.array([[12, 12]]))
    with pytest.raises(ValueError, match="Each way needs units"):
        trial.judge(np.array([[1, 0]]), np.array([[12, 0]]))


def share_found(units, rates):
    """Of 2000 trials over four flats, so many units of each way in all."""
    rng = np.random.default_rng(3)
    drawn = rng.binomial(units // 4, rates, size=(2000, 4, 2))
    return np.mean([trial.judge(taken, np.full((4, 2), units // 4)).p < 0.05 for taken in drawn])


@pytest.mark.parametrize(("units", "share"), [(24, 0.5), (48, 0.5), (96, 0.75)])
def test_the_least_difference_shown_is_found_in_eight_trials_of_ten(units, share):
    half = trial.least_shown(units, units, share) / 2
    assert 0.74 < share_found(units, [share + half, share - half]) < 0.87


@pytest.mark.parametrize("share", [0.0, 0.01, 1.0])
def test_where_all_or_none_takes_a_difference_that_fits_is_found_as_often_or_oftener(share):
    least = trial.least_shown(72, 72, share)
    assert 0.05 < least < trial.least_shown(72, 72, 0.5)
    rates = [least, 0] if share < 0.5 else [1, 1 - least]
    assert share_found(72, rates) > 0.8
