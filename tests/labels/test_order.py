"""What was asked to be printed, as it is kept: an older version's is read, and prints the same."""

import json
from datetime import date
from pathlib import Path

import pytest

from labels import order, stock
from tests.labels.samples import tag

FROZEN = Path(__file__).parent / "frozen" / "order-1.json"


def test_the_first_format_is_still_read():
    found = order.from_json(json.loads(FROZEN.read_text()))
    assert (found.copies, found.start, found.offset, found.scale) == ((2, 1), 3, (0.5, -1.0), 1.01)
    first, second = found.tags
    assert first.stuck_on == date(2026, 3, 2)
    assert (first.name, second.name) == (tag("short").name, tag("species").name)
    assert first.notices == ("Protected",)
    assert first.passport.operator == "operator"
    assert found.stock.page_width == 210


def test_an_order_comes_back_as_it_was_and_says_its_format():
    asked = order.Order((tag(), tag("species")), (1, 3), next(iter(stock.shipped().values())))
    kept = order.as_json(asked)
    assert kept["format"] == order.FORMAT
    assert order.from_json(json.loads(json.dumps(kept))) == asked


def test_a_format_that_only_a_newer_version_knows_is_told():
    with pytest.raises(ValueError, match="format 99; this version knows 1"):
        order.from_json(json.loads(FROZEN.read_text()) | {"format": 99})
