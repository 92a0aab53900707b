"""Every word of every tag stands on its own label, on whatever stock, as a person reads it."""

from functools import cache, partial
from itertools import cycle, islice
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, Phase, assume, given, reject, settings
from hypothesis import strategies as st

from labels import layout, qr, sheet
from labels.order import Order
from labels.stock import LabelStock, check, shipped
from tests.labels.mixed import KINDS, mixed
from tests.labels.reading import Reading, read

PAGES = 3
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much]
AS_FOUND = [Phase.explicit, Phase.reuse, Phase.generate]
"""A failure is told as it was found: to find its simplest form is to print a thousand sheets."""


def printed(stock: LabelStock, count: int, first: int = 0, **more) -> Reading:
    """What is read on the sheet of so many mixed tags."""
    tags = tuple(islice(cycle(mixed(min(count, KINDS), first)), count))
    order = Order(tags, (1,) * count, stock, **more)
    with patch.object(layout, "draw", cache(layout.draw)):  # once for the sheet and its reader
        return read(sheet.make_order(order).pdf, order)


@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_on_each_shipped_stock_every_word_is_read_on_its_own_label(stock):
    count = max(KINDS, PAGES * stock.labels_a_page)
    reading = printed(stock, count)
    assert reading.strays == []
    assert reading.words > 10 * count


@st.composite
def stocks(draw: st.DrawFn, *, roll: bool) -> LabelStock:
    """An own stock of any measurements, so small that its pages are quick to print."""
    columns, rows = (1, 1) if roll else (draw(st.integers(1, 2)), draw(st.integers(2, 3)))
    folded = draw(st.sampled_from([False, False, False, True]))
    width, height = draw(st.floats(30, 80)) * (1 + folded), draw(st.floats(18, 70))
    margins, gaps = (st.just(0.0) | st.floats(0, most) for most in (15, 12))
    left, top, right, bottom = (0.0 if roll else draw(margins) for _ in range(4))
    across, down = draw(gaps), draw(gaps)
    sides = st.sets(st.sampled_from(["left", "right", "top", "bottom"]), max_size=2)
    return LabelStock(
        "own",
        page_width=left + columns * width + (columns - 1) * across + right,
        page_height=top + rows * height + (rows - 1) * down + bottom,
        label_width=width,
        label_height=height,
        columns=columns,
        rows=rows,
        left=left,
        top=top,
        pitch_x=width + across,
        pitch_y=height + down,
        padding=draw(st.just(0.0) | st.floats(0, 3)),
        folded=folded,
        **{f"free_{side}": draw(st.floats(0, 8)) for side in draw(sides)},
    )


NUDGES = st.just((0.0, 0.0)) | st.tuples(st.floats(-20, 20), st.floats(-20, 20))
SCALES = st.just(1.0) | st.floats(0.9, 1.1)
often = partial(settings, deadline=None, suppress_health_check=SLOW, phases=AS_FOUND)


@given(stocks(roll=False), st.integers(1, 6), st.integers(0, KINDS), NUDGES, SCALES)
@often(max_examples=24)
def test_on_any_own_sheet_every_word_is_read_on_its_own_label(stock, start, first, nudge, scale):
    assume(start <= stock.labels_a_page)
    assert strays(stock, first, start=start, offset=nudge, scale=scale) == []


@given(stocks(roll=True), st.integers(0, KINDS), NUDGES, SCALES)
@often(max_examples=24)
def test_on_any_own_roll_every_word_is_read_on_its_own_label(stock, first, nudge, scale):
    assert strays(stock, first, offset=nudge, scale=scale) == []


def strays(stock: LabelStock, first: int, **more) -> list[str]:
    """What is wrong with three pages of tags; a label too small for any QR is none to try."""
    assert check(stock) == []
    count = (PAGES - 1) * stock.labels_a_page + 1
    try:
        return printed(stock, count, first, **more).strays
    except qr.TooSmallError:
        reject()
