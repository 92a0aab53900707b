"""Printed sheets, read back: every QR, where each label came, and what can't be printed."""

from dataclasses import replace

import pytest

from labels import layout, qr, sheet, typeface
from labels.order import Order
from labels.stock import place, shipped
from tests.labels.samples import (
    CODES,
    NAMES,
    address,
    decoded,
    embedded_fonts,
    letters,
    said,
    symbols,
    tag,
)

COMMON = shipped()["A4 sheet, 3 × 8 labels 70 × 37 mm"]
ROUND_CORNERS = shipped()["A4 sheet, 3 × 7 labels 63.5 × 38.1 mm"]
SMALLEST = shipped()["A4 sheet, 5 × 13 labels 38.1 × 21.2 mm"]
ROLL = shipped()["Roll, labels 50 × 25 mm"]
ALL_KINDS = [tag(kind) for kind in NAMES]
PRECISE = 0.1  # mm


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_every_qr_on_every_stock_is_read(stock, dpi):
    made = sheet.make(ALL_KINDS, stock)
    expected = [address(kind).upper() for kind in NAMES] * stock.faces
    assert sorted(decoded(made.pdf, dpi)) == sorted(expected)
    assert made.pages == -(-len(ALL_KINDS) // stock.labels_a_page)


@pytest.mark.parametrize("page", [0, 8])
@pytest.mark.parametrize("stock", [COMMON, ROUND_CORNERS, SMALLEST], ids=lambda s: s.name)
def test_labels_are_where_the_stock_says_on_the_first_page_and_the_ninth(stock, page):
    made = sheet.make([tag()], stock, copies=9 * stock.labels_a_page)
    drawing = layout.draw(tag(), stock)
    inset = qr.QUIET * drawing.symbol.module_mm
    side = drawing.symbol.modules * drawing.symbol.module_mm
    found = symbols(made.pdf, page)
    assert len(found) == stock.labels_a_page
    for position, (left, top, right, bottom) in enumerate(found):
        x, y = place(stock, position)
        assert left == pytest.approx(x + drawing.qr_x + inset, abs=PRECISE)
        assert top == pytest.approx(y + drawing.qr_y + inset, abs=PRECISE)
        assert right - left == pytest.approx(side, abs=PRECISE)
        assert bottom - top == pytest.approx(side, abs=PRECISE)


@pytest.mark.parametrize("kind", [kind for kind in NAMES if kind != "CJK"])
@pytest.mark.parametrize("stock", [COMMON, SMALLEST, ROLL], ids=lambda s: s.name)
def test_no_letter_leaves_its_label(stock, kind):
    made = sheet.make([tag(kind)], stock)
    edge = stock.left + stock.label_width
    assert letters(made.pdf)
    assert max(right for *_, right in letters(made.pdf)) <= edge - stock.padding + PRECISE


@pytest.mark.parametrize("kind", ["short", "diacritics", "Cyrillic", "60 characters"])
def test_the_whole_name_is_in_the_pdf(kind):
    printed = said(sheet.make([tag(kind)], COMMON).pdf).replace(" ", "")
    assert "".join(text for text, _ in NAMES[kind]).replace(" ", "") in printed


def test_the_code_is_printed_in_groups():
    assert "7K3-QF2" in said(sheet.make([tag()], COMMON).pdf)


@pytest.mark.parametrize(
    ("kinds", "near"),
    [
        (["short", "species", "60 characters", "diacritics"], 0.05),
        (["short", "Cyrillic"], 0.5),  # of two faces on a line, the taller sets its baseline
    ],
)
def test_lines_set_together_stand_as_if_each_tag_were_printed_alone(kinds, near):
    """Lines of a column of labels share a paragraph, which must not move any of them."""
    tags = [tag(kind) for kind in kinds] * 3
    alone = [
        letter
        for start, one in enumerate(tags, 1)
        for letter in letters(sheet.make([one], COMMON, start=start).pdf)
    ]
    for letter, *place_of_it in letters(sheet.make(tags, COMMON).pdf):
        same = [
            one
            for one in alone
            if one[0] == letter and list(one[1:]) == pytest.approx(place_of_it, abs=near)
        ]
        assert same, f"{letter} stands at {place_of_it}, and not so when printed alone"
        alone.remove(same[0])
    assert alone == []


def test_a_used_sheet_starts_at_its_next_free_label():
    made = sheet.make(ALL_KINDS, COMMON, start=21)
    assert made.pages == 2
    assert len(symbols(made.pdf, 0)) == 4
    left, top, *_ = symbols(made.pdf, 0)[0]
    x, y = place(COMMON, 20)
    assert x < left < x + COMMON.label_width
    assert y < top < y + COMMON.label_height


@pytest.mark.parametrize("start", [0, 25])
def test_a_start_that_is_not_on_the_page_is_refused(start):
    with pytest.raises(sheet.CannotPrintError, match=f"1 to 24: it can't start at {start}"):
        sheet.make([tag()], COMMON, start=start)


def test_offset_and_scale_move_what_is_printed():
    straight = symbols(sheet.make([tag()], COMMON, start=24).pdf)[0]
    moved = symbols(sheet.make([tag()], COMMON, start=24, offset=(1.5, -0.5)).pdf)[0]
    assert moved[0] - straight[0] == pytest.approx(1.5, abs=0.01)
    assert moved[1] - straight[1] == pytest.approx(-0.5, abs=0.01)
    larger = symbols(sheet.make([tag()], COMMON, start=24, scale=1.02).pdf)[0]
    assert larger == pytest.approx([1.02 * edge for edge in straight], abs=0.01)


@pytest.mark.parametrize(
    ("offset", "side", "over"),
    [((-4, 0), "left", "1.00 mm"), ((0, 4), "bottom", "0.50 mm"), ((0, -4), "top", "0.50 mm")],
)
def test_a_nudge_that_pushes_words_off_the_page_is_told_before_printing(offset, side, over):
    order = Order((tag(),), (1,), COMMON, offset=offset)
    [(code, said)] = sheet.check_order(order)
    assert code == ""
    assert f"{over} of what is printed off the page, at the {side}" in said
    assert sheet.make_order(order).problems == [(code, said)]
    assert not sheet.check_order(replace(order, offset=(-2, 1)))


def test_a_folded_label_shows_its_tag_upright_on_both_faces():
    folded = shipped()["Roll, fold-over tags 110 × 25 mm"]
    left, right = symbols(sheet.make([tag()], folded).pdf)
    assert left[2] < 55 < right[0]
    assert right == pytest.approx([left[0] + 55, left[1], left[2] + 55, left[3]], abs=0.01)
    words = said(sheet.make([tag()], folded).pdf)
    assert words.count("7K3-QF2") == 2


def test_copies_are_one_number_or_numbers_by_code():
    assert len(decoded(sheet.make([tag(), tag("species")], COMMON, copies=3).pdf, 203)) == 6
    made = sheet.make([tag(), tag("species")], COMMON, copies={CODES["short"]: 4})
    found = decoded(made.pdf, 203)
    assert (found.count(address().upper()), found.count(address("species").upper())) == (4, 1)


def test_problems_come_with_the_code_and_the_same_without_printing():
    made = sheet.make(ALL_KINDS, SMALLEST)
    assert {CODES["60 characters"], CODES["CJK"]} <= {code for code, _ in made.problems}
    assert CODES["short"] not in {code for code, _ in made.problems}
    assert sheet.check(ALL_KINDS, SMALLEST) == made.problems


def test_a_wrong_stock_is_refused_and_told():
    wrong = replace(COMMON, pitch_x=60)
    with pytest.raises(sheet.CannotPrintError, match=r"overlap by 10\.00 mm"):
        sheet.make([tag()], wrong)
    (problem,) = sheet.check([tag()], wrong)
    assert problem[0] == ""
    assert "overlap by 10.00 mm" in problem[1]


def test_a_label_without_room_for_the_qr_is_told_before_printing():
    tiny = replace(ROLL, page_height=9, label_height=9, padding=1)
    assert "Choose a label" in sheet.check([tag()], tiny)[0][1]
    with pytest.raises(qr.TooSmallError):
        sheet.make([tag()], tiny)


def test_a_sheet_of_nothing_is_refused():
    with pytest.raises(sheet.CannotPrintError, match="no tags"):
        sheet.make([], COMMON)


def test_only_the_shipped_typeface_is_used_and_embedded():
    fonts = embedded_fonts(sheet.make(ALL_KINDS, COMMON).pdf)
    assert all(embedded for _, embedded in fonts)
    names = {name.partition("+")[2] for name, _ in fonts}
    assert names
    assert all(name.startswith(typeface.FAMILIES) for name in names)


def test_the_test_sheet_draws_every_label_where_it_is():
    made = sheet.make_test_sheet(ROUND_CORNERS, offset=(1, 2))
    assert made.pages == 1
    drawn = symbols(made.pdf)
    for position in range(ROUND_CORNERS.labels_a_page):
        x, y = place(ROUND_CORNERS, position)
        expected = (x + 1, y + 2, x + 1 + 63.5, y + 2 + 38.1)
        assert any(box == pytest.approx(expected, abs=0.2) for box in drawn)
    assert "First cross: 7.2 mm from the left" in said(made.pdf)
