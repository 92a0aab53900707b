import numpy as np
import pytest

from lots.forecast import compare, durations, take
from tests.forecast.rows import join, lots


def two(variety="a"):
    return join(
        lots(variety, group="wedge", expected=(0.55, 0.95)),
        lots(variety, group="whole", expected=(0.55, 0.95)),
    )


def takes(wedge, whole):
    rows = join(
        lots(*["a"] * len(wedge), group="wedge", expected=(0.55, 0.95)),
        lots(*["a"] * len(whole), group="whole", expected=(0.55, 0.95)),
    )
    counts = np.array([*wedge, *whole], dtype=int)
    return take.fit(rows, np.full(len(counts), 48), counts, counts)


def test_a_clear_difference_is_said_to_be_one():
    found = compare.take(takes([40, 42, 44, 41, 43] * 3, [24, 22, 26, 23, 25] * 3), two())
    assert found.first.mean == pytest.approx(42 / 48, abs=0.04)
    assert found.second.mean == pytest.approx(24 / 48, abs=0.04)
    assert found.difference.low > 0.2
    assert found.first_greater > 0.99
    assert (found.first.lots, found.second.lots, found.difference.lots) == (15, 15, 30)


def test_with_one_lot_each_little_is_sure():
    found = compare.take(takes([36], [33]), two())
    assert found.difference.low < 0 < found.difference.high
    assert 0.4 < found.first_greater < 0.8


def test_without_lots_of_either_it_is_even():
    found = compare.take(takes([], []), two())
    assert found.first_greater == pytest.approx(0.5, abs=0.03)
    assert found.difference.lots == 0


def test_a_whole_crop_group_is_compared_by_its_middle():
    fit = takes([40, 42, 44] * 4, [24, 22, 26] * 4)
    group, variety = compare.take(fit, two("")), compare.take(fit, two())
    assert group.first.lots == 12
    assert group.first_greater > 0.7
    # What holds for one variety is less sure for its group.
    assert group.difference.high - group.difference.low > (
        variety.difference.high - variety.difference.low
    )


def test_days_compare_too():
    rows = join(lots(*["a"] * 8, group="tip"), lots(*["a"] * 8, group="leaf"))
    days = np.repeat([25.0, 50.0], 8)
    fit = durations.fit(rows, days - 7, days)
    found = compare.days(fit, join(lots("a", group="tip"), lots("a", group="leaf")))
    assert found.difference.high < 0
    assert found.first_greater < 0.01
    assert found.first.mean == pytest.approx(21.5, abs=4)
