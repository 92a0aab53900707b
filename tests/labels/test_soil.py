"""A soiled tag is still read, as long as the three corner patterns are clear."""

import pytest

from labels.stock import shipped
from tests.labels import soil

STOCKS = ("A4 sheet, 5 × 13 labels 38.1 × 21.2 mm", "A4 sheet, 3 × 8 labels 70 × 37 mm")


@pytest.mark.parametrize("name", STOCKS)
@pytest.mark.parametrize("covered", [0.05, 0.1])
def test_a_blotted_symbol_with_clear_corners_is_read(name, covered):
    symbol = soil.printed(shipped()[name])
    everywhere, corners_clear = soil.shares(symbol, covered * symbol.side**2, True, trials=60)
    assert corners_clear >= 0.97
    assert everywhere >= 0.35


def test_a_clean_symbol_is_read_on_every_stock():
    for stock in shipped().values():
        assert soil.shares(soil.printed(stock), 0, False, trials=5) == (1, 1)
