"""What the main fit leaves over: crop groups that go their own way in time, stock plants that give
more or less than others of their variety."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit, logit
from scipy.stats import norm

from lots.forecast import betabinomial, durations, residuals, takes
from lots.forecast.lotrows import pick
from tests.forecast.changing import changing
from tests.forecast.simulate import nursery, seen
from tests.forecast.test_changing import AS_OF, NURSERIES, of_one

# In one process, which fits each nursery once.
pytestmark = pytest.mark.xdist_group("changing")
RHO = 0.05


def test_a_crop_group_that_goes_its_own_way_is_followed(monkeypatch):
    nurseries = [changing("one crop", *which) for which in NURSERIES]
    with_it = np.hstack([np.hstack(of_one(of)) for of in nurseries])
    monkeypatch.setattr(residuals, "STEPS", (0.0,))
    without = np.hstack([np.hstack(of_one(of)) for of in nurseries])
    assert with_it[1].mean() < 0.97 * without[1].mean()
    assert with_it[3].mean() < 0.97 * without[3].mean()


def test_where_none_does_nothing_is_added():
    of = changing("steady", 1)
    known = of.stuck_on < AS_OF
    low, high = seen(of, of.struck, AS_OF)
    fit = durations.fit(pick(of.struck_lots, known), low[known], high[known])
    assert not len(fit.walks.keys)
    done = of.stuck_on < AS_OF - 60
    fit = takes.fit(*_takes(of, of.taken, done))
    assert not len(fit.walks.keys)


def _takes(of, taken, some, plant=None):
    lots = of.take_lots
    if plant is not None:
        lots = replace(lots, traits=lots.traits | {"plant": plant})
    return pick(lots, some), of.units[some], taken[some], taken[some]


def cut_from_plants(seed: int, apart: float):
    """Takes of a nursery with three stock plants of each variety, so far `apart` as logits."""
    of, rng = nursery(seed, lots=900), np.random.default_rng(seed)
    names = np.char.add(of.take_lots.variety, rng.integers(0, 3, len(of.units)).astype(str))
    of_plant = dict(zip(np.unique(names), rng.normal(0, apart, len(np.unique(names))), strict=True))
    rate = expit(logit(of.rate) + np.array([of_plant[name] for name in names]))
    precision = 1 / RHO - 1
    return of, names, rng.binomial(of.units, rng.beta(rate * precision, (1 - rate) * precision))


def test_what_a_plant_gives_sharpens_the_take_of_its_next_lots():
    errors, without, inside = [], [], []
    for seed in (1, 2, 3):
        of, plant, taken = cut_from_plants(seed, 0.7)
        known = of.stuck_on < AS_OF
        fit = takes.fit(*_takes(of, taken, known, plant))
        lots, units, truth, _ = _takes(of, taken, ~known, plant)
        for rows, found in ((lots, errors), (replace(lots, traits={}), without)):
            told = takes.predict(fit, rows)
            found.append(np.abs(takes.mean_rate(told) - truth / units))
        pmf = takes.units_pmf(takes.predict(fit, lots), units)
        low, high = takes.units_quantile(pmf, 0.1), takes.units_quantile(pmf, 0.9)
        inside.append((low <= truth) & (truth <= high))
    assert np.concatenate(errors).mean() < 0.95 * np.concatenate(without).mean()
    # A band of whole numbers that holds 8 in 10 at least holds more.
    assert 0.78 <= np.concatenate(inside).mean() <= 0.93


def test_plants_that_are_alike_are_told_to_be():
    of, plant, taken = cut_from_plants(1, 0.0)
    fit = takes.fit(*_takes(of, taken, np.ones(len(taken), dtype=bool), plant))
    assert not len(fit.plants.keys)


def test_what_is_told_of_a_plant_is_near_brute_quadrature():
    units, taken = np.array([48, 48, 24, 30]), np.array([20, 22, 9, 28])
    counts = betabinomial.counted(units, taken, taken)
    eta = np.full(4, 0.8)
    of = replace(nursery(1, lots=4).take_lots, traits={"plant": np.array(["a", "a", "a", ""])})
    found = residuals.plants(of, eta, lambda at: betabinomial.log_likelihood(counts, at, RHO))
    assert list(found.keys) == ["a"]

    def joint(x: float, s: float) -> float:
        value = betabinomial.log_likelihood(counts, eta + x * np.array([1, 1, 1, 0]), RHO)[0]
        return float(np.exp(value[:3].sum() + 20)) * norm.pdf(x, 0, s)

    evidence = [
        quad(joint, -4, 4, args=(s,))[0] / 3**n for n, s in enumerate(residuals.PLANTS) if s
    ]
    alone = float(np.exp(betabinomial.log_likelihood(counts, eta, RHO)[0][:3].sum() + 20))
    weights = np.array([alone, *evidence]) / (alone + sum(evidence))
    s = np.sqrt(np.square(residuals.PLANTS) @ weights)
    whole = quad(joint, -4, 4, args=(s,))[0]
    mean = quad(lambda x: x * joint(x, s), -4, 4)[0] / whole
    var = quad(lambda x: (x - mean) ** 2 * joint(x, s), -4, 4)[0] / whole
    assert found.mean[0, 0] == pytest.approx(mean, abs=0.03)
    assert np.sqrt(found.cov[0, 0, 0]) == pytest.approx(np.sqrt(var), rel=0.05)
