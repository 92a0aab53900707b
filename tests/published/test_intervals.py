"""Wilson's interval against published tables."""

import pytest

from lots.forecast.proportions import wilson


@pytest.mark.parametrize(
    ("hits", "count", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_as_printed(hits, count, low, high):
    """Newcombe 1998, Statistics in Medicine 17:857-872, table I, 95 %."""
    found = wilson(hits, count)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


def test_wilson_one_sided():
    """NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1: 26 of 200, 95 % lower limit."""
    assert wilson(26, 200, confidence=0.90).low == pytest.approx(0.09577, abs=5e-6)
