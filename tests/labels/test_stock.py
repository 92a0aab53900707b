"""Label stocks: those shipped are right, and what is wrong with one is told with its amount."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.stock import LabelStock, check, place, shipped, usable

SHEET = LabelStock(
    name="sheet",
    page_width=210,
    page_height=297,
    columns=3,
    rows=8,
    left=4,
    top=8,
    pitch_x=68,
    pitch_y=35,
    label_width=66,
    label_height=33,
)


def test_the_sheet_that_the_faults_are_made_from_is_right():
    assert check(SHEET) == []


@pytest.mark.parametrize("name", shipped())
def test_shipped_stocks_are_right(name):
    assert check(shipped()[name]) == []


def test_six_or_more_stocks_are_shipped_for_sheets_of_both_sizes_rolls_and_stakes():
    names = " | ".join(shipped())
    assert len(shipped()) >= 6
    for kind in ("A4 sheet", "Letter sheet", "Roll", "pot stakes"):
        assert kind in names


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_stock_is_named_by_its_own_measurements(name):
    stock = shipped()[name]
    assert f"{stock.label_width:g} × {stock.label_height:g} mm" in name
    if stock.columns > 1:
        assert f"{stock.columns} × {stock.rows} labels" in name


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pitch_x": 63.5}, "The columns overlap by 2.50 mm"),
        ({"pitch_y": 32}, "The rows overlap by 1.00 mm"),
        ({"left": 9.5}, "The last column leaves the page at the right by 1.50 mm"),
        ({"top": 19.25}, "The last row leaves the page at the bottom by 0.25 mm"),
        ({"left": -1}, "The left margin can't be less than 0, and is -1 mm"),
        ({"label_height": 0}, "The label height must be more than 0, and is 0 mm"),
        ({"columns": 0}, "There must be at least one column, and there are 0"),
        ({"corner": 20}, "The corner radius is 3.50 mm too large"),
        ({"free_right": 70}, "take 7.00 mm more than the label's width"),
    ],
)
def test_a_wrong_measurement_is_told_with_its_amount(change, sentence):
    assert [fault for fault in check(replace(SHEET, **change)) if sentence in fault]


@given(gap=st.floats(-30, 30), columns=st.integers(2, 6), width=st.floats(10, 60))
def test_labels_overlap_exactly_when_the_pitch_is_less_than_the_label(gap, columns, width):
    pitch = max(width + gap, 1)
    page = width + pitch * columns + 50
    stock = LabelStock("x", page, 100, width, 50, columns=columns, pitch_x=pitch, padding=1)
    overlaps = any("overlap" in fault for fault in check(stock))
    assert overlaps == (width - pitch > 0.05)


def test_places_run_along_rows_first():
    assert place(SHEET, 0) == (4, 8)
    assert place(SHEET, 2) == (4 + 2 * 68, 8)
    assert place(SHEET, 3) == (4, 8 + 35)
    assert place(SHEET, 23) == (4 + 2 * 68, 8 + 7 * 35)


def test_nothing_may_be_printed_on_a_stakes_point():
    stake = replace(SHEET, columns=1, rows=1, free_right=20, padding=1)
    box = usable(stake)
    assert (box.x, box.x + box.width) == (1, 66 - 20 - 1)
