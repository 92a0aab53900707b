from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit

from lots.forecast import compare, durations, takes
from tests.forecast.rows import join, lots

NO_PLANT = ""


def rows(wedge, whole, expected=(0.55, 0.95)):
    return join(
        lots(*["a"] * wedge, group="wedge", expected=expected),
        lots(*["a"] * whole, group="whole", expected=expected),
    )


def of_takes(wedge, whole, plants=None, day=None):
    """Compare lots of 48 units, of which so many took each way."""
    of = rows(len(wedge), len(whole))
    if day is not None:
        of = replace(of, day_of_year=np.array(day, dtype=float))
    counts = np.array([*wedge, *whole], dtype=int)
    known = np.full(len(counts), 48), counts, counts
    plants = np.array(plants or [NO_PLANT] * len(counts), dtype=np.str_)
    return compare.of_takes(of, plants, known, takes.fit(of, *known))


def compared(ways, variety="a", first="wedge", second="whole", **more):
    (found,) = compare.compare(ways, [first, second], variety, **more)
    return found


def test_a_clear_difference_is_said_to_be_one():
    ways = of_takes([40, 42, 44, 41, 43] * 3, [24, 22, 26, 23, 25] * 3)
    found = compared(ways)
    assert found.first.mean == pytest.approx(42 / 48, abs=0.04)
    assert found.second.mean == pytest.approx(24 / 48, abs=0.04)
    assert found.difference.low > 0.2
    assert found.first_greater > 0.99
    assert (found.first.lots, found.second.lots, found.difference.lots) == (15, 15, 30)


def test_a_method_is_told_alike_whatever_it_is_held_against():
    of = join(rows(4, 4), lots("a", "a", group="cone", expected=(0.55, 0.95)))
    counts = np.array([40, 41, 39, 42, 30, 31, 29, 30, 20, 22])
    known = np.full(10, 48), counts, counts
    ways = compare.of_takes(of, np.full(10, NO_PLANT), known, takes.fit(of, *known))
    found = compare.compare(ways, ["wedge", "whole", "cone"], "a")
    assert found[0].first == found[1].first
    assert found[0].second == found[2].first
    assert found[1].second == found[2].second
    gaps = [each.difference.mean for each in found]
    assert gaps[1] == pytest.approx(gaps[0] + gaps[2])


def test_turned_round_it_says_the_same():
    ways = of_takes([40, 42, 44], [33, 31, 36])
    one, other = (compared(ways, "a", *way) for way in (("wedge", "whole"), ("whole", "wedge")))
    assert one.difference.mean == pytest.approx(-other.difference.mean, abs=0.01)
    assert one.first_greater == pytest.approx(1 - other.first_greater, abs=0.03)


def test_with_one_lot_each_little_is_sure():
    found = compared(of_takes([36], [33]))
    assert found.difference.low < 0 < found.difference.high
    assert 0.4 < found.first_greater < 0.8


def test_lots_that_say_nothing_leave_it_even():
    of = rows(1, 1)
    units, none = np.array([48, 48]), np.zeros(2, dtype=int)
    known = units, none, units
    ways = compare.of_takes(of, np.array(["", ""]), known, takes.fit(of, *known))
    found = compared(ways)
    assert found.first_greater == pytest.approx(0.5, abs=0.03)
    assert (found.difference.lots, found.difference.plants) == (0, 0)


def test_a_whole_crop_group_is_compared_by_its_middle():
    ways = of_takes([40, 42, 44] * 4, [24, 22, 26] * 4)
    group, variety = (compared(ways, of) for of in (None, "a"))
    assert group.first.lots == 12
    assert group.first_greater > 0.7
    # What holds for one variety is less sure for its group, and least for one never cut.
    other = compared(ways, "b")
    widths = [each.difference.high - each.difference.low for each in (variety, group, other)]
    assert widths == sorted(widths)
    assert other.first.lots == 0


def test_days_compare_too():
    of = join(lots(*["a"] * 8, group="tip"), lots(*["a"] * 8, group="leaf"))
    days = np.repeat([25.0, 50.0], 8)
    usual = durations.fit(of, days - 7, days)
    ways = compare.of_days(of, np.full(16, NO_PLANT), (days - 7, days), usual)
    found = compared(ways, "a", "tip", "leaf")
    assert found.difference.high < 0
    assert found.first_greater < 0.01
    assert found.first.mean == pytest.approx(21.5, abs=4)


def test_what_a_leaf_gives_is_counted():
    ways = of_takes([24] * 6, [36] * 6)
    found = compared(ways, times=(6.0, 1.0))
    assert found.first.mean == pytest.approx(3.0, abs=0.3)
    assert found.second.mean == pytest.approx(0.75, abs=0.06)
    assert found.first_greater > 0.99


def test_a_poor_plant_is_not_blamed_on_the_method():
    """Both ways take alike on each plant, but most wedges were cut from the poor one: by the
    averages wedges are far worse."""
    wedge, whole = [20, 22, 21, 19, 20, 21, 23, 41], [41, 40, 42, 41, 43, 42, 40, 21]
    poor_then_good = ["poor"] * 7 + ["good"]
    good_then_poor = ["good"] * 7 + ["poor"]
    told = of_takes(wedge, whole, poor_then_good + good_then_poor)
    found = compared(told)
    assert found.difference.low < 0 < found.difference.high
    assert abs(found.difference.mean) < 0.12
    assert (found.first.plants, found.second.plants, found.both) == (2, 2, 2)
    not_told = compared(of_takes(wedge, whole))
    assert not_told.difference.high < -0.15


def test_plants_cut_one_way_only_leave_it_less_sure():
    wedge, whole = [41, 43, 42, 40, 42, 41], [30, 31, 29, 32, 30, 28]
    crossed = ["p", "q", "r"] * 4
    apart = ["p", "p", "p", "p", "p", "p", "q", "q", "q", "q", "q", "q"]
    both, alone = (compared(of_takes(wedge, whole, plants)) for plants in (crossed, apart))
    assert (both.both, alone.both) == (3, 0)
    assert alone.first_greater < both.first_greater
    width = [each.difference.high - each.difference.low for each in (both, alone)]
    assert width[1] > 1.3 * width[0]


def test_a_poor_season_is_not_blamed_on_the_method():
    """Winter halves what takes; wedges were mostly stuck in winter."""
    winter, summer = 10, 190
    wedge, whole = [20, 22, 21, 19, 20, 21, 41, 42], [41, 40, 42, 41, 43, 42, 20, 22]
    days = [winter] * 6 + [summer] * 8 + [winter] * 2
    found = compared(of_takes(wedge, whole, day=days))
    assert found.difference.low < 0 < found.difference.high
    assert compared(of_takes(wedge, whole)).difference.high < -0.05


def invented(seed):
    """A crop group of which each variety has a few plants, cut more one way than the other."""
    rng = np.random.default_rng(seed)
    varieties, plants, n = 12, 4, 240
    variety = rng.integers(0, varieties, n)
    plant = rng.integers(0, plants, n)
    leaning = rng.uniform(0.15, 0.85, (varieties, plants))
    method = (rng.uniform(size=n) < leaning[variety, plant]).astype(int)
    day = rng.uniform(1, 366, n)
    eta = np.array([0.9, 0.5])[method] + rng.normal(0, 0.4, varieties)[variety]
    pair = rng.normal(0, 0.3, (varieties, 2))
    by_plant = rng.normal(0, 0.5, (varieties, plants))
    both = rng.normal(0, 0.2, (varieties, plants, 2))
    eta += pair[variety, method] + by_plant[variety, plant] + both[variety, plant, method]
    eta += 0.3 * np.cos(2 * np.pi * day / 365.25)
    units, heads = rng.integers(20, 60, n), 1 / 0.06 - 1
    rate = expit(eta)
    taken = rng.binomial(units, rng.beta(rate * heads, (1 - rate) * heads))
    names = np.array(["wedge", "whole"])
    of = replace(
        lots(*[f"v{v}" for v in variety], expected=(0.5, 0.9)),
        group=names[method],
        day_of_year=day,
    )
    known = units, taken, taken
    keys = np.array([f"{v}-{p}" for v, p in zip(variety, plant, strict=True)])
    ways = compare.of_takes(of, keys, known, takes.fit(of, *known))
    truth = (pair + both.mean(axis=1) + np.array([0.9, 0.5])) @ [1, -1]
    return ways, truth


def test_the_probability_that_one_is_better_is_right_as_often_as_it_says():
    """Over invented nurseries and their varieties: sides taken with 0.8 or more are right that
    often, and so are those taken with less."""
    chance, right = [], []
    for seed in range(40):
        ways, truth = invented(seed)
        for number, better in enumerate(truth):
            greater = compared(ways, f"v{number}").first_greater
            chance.append(max(greater, 1 - greater))
            right.append((greater > 0.5) == (better > 0))
    chance, right = np.array(chance), np.array(right)
    for some in (chance >= 0.8, chance < 0.8):
        assert some.sum() > 100
        assert right[some].mean() == pytest.approx(chance[some].mean(), abs=0.1)
