"""The layout of a tag: all inside the label, nothing over the QR, nothing lost in silence."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labels import compose, layout, qr
from labels.stock import LabelStock, shipped, usable
from labels.tag import Passport, plain
from tests.labels.samples import NAMES, tag

EVERY = list(product(shipped().values(), NAMES))
SMALLEST = shipped()["A4 sheet, 5 × 13 labels 38.1 × 21.2 mm"]
COMMON = shipped()["A4 sheet, 3 × 8 labels 70 × 37 mm"]
LONGEST = (
    ("Begonia rex-cultorum hybrida ", True),
    (f"'{'Grand Duchess of the Evening ' * 3}'", False),
)


def words(drawing: layout.Drawing) -> str:
    """All that a tag says, line after line."""
    return " ".join("".join(piece for piece, _ in text.line) for text in drawing.texts)


def assert_well_placed(drawing: layout.Drawing, stock: LabelStock) -> None:
    box = usable(stock)
    side = drawing.symbol.side_mm
    edge = min(layout.EDGE, stock.padding)
    assert drawing.qr_x >= stock.free_left + edge - 1e-9
    assert drawing.qr_y >= stock.free_top + edge - 1e-9
    assert drawing.qr_x + side <= stock.face_width - stock.free_right - edge + 1e-9
    assert drawing.qr_y + side <= stock.label_height - stock.free_bottom - edge + 1e-9
    for text in drawing.texts:
        assert text.x >= box.x - 1e-9
        assert text.y >= box.y - 1e-9
        assert text.x + text.width <= box.x + box.width + 1e-9
        assert text.y + text.height <= box.y + box.height + 1e-9
        assert text.x >= drawing.qr_x + side or text.y + text.height <= drawing.qr_y + 1e-9


@pytest.mark.parametrize(("stock", "kind"), EVERY, ids=lambda one: getattr(one, "name", one))
def test_all_is_inside_the_label_and_clear_of_the_qr(stock, kind):
    drawing = layout.draw(tag(kind), stock)
    assert_well_placed(drawing, stock)
    assert drawing.symbol.level == "H"
    assert drawing.symbol.module_mm >= qr.GOOD_MM


@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_a_usual_tag_says_everything_with_the_name_largest(stock):
    drawing = layout.draw(tag(), stock)
    assert drawing.problems == ()
    for fact in ("Begonia", "'Silver Moth'", "Stuck 2 Mar 2026", "W10", "Leaf", "48", "MK"):
        assert fact in words(drawing)
    assert "7K3-QF2" in words(drawing)
    assert "B2-07" in words(drawing)
    name = next(text for text in drawing.texts if text.line[0][0].startswith("Begonia"))
    assert name.size == max(text.size for text in drawing.texts)


@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_no_type_is_under_its_floor(stock):
    for kind in NAMES:
        drawing = layout.draw(tag(kind, notices=("Harmful to pets if eaten.",)), stock)
        assert min(text.size for text in drawing.texts) >= 5.5
        code = next(text for text in drawing.texts if "-" in text.line[0][0])
        assert code.size >= compose.CODE.floor


def test_tags_of_a_stock_match_in_qr_and_small_print():
    """But for those of long names, whose letters would be small."""
    tags = [tag(), tag("species"), tag(name=(("Coleus ", True), ("'Tide'", False)))]
    drawings = [layout.draw(one, COMMON) for one in tags]
    assert len({drawing.symbol.side_mm for drawing in drawings}) == 1
    days = {text for drawing in drawings for text in drawing.texts if "Stuck" in text.line[0][0]}
    assert len({(text.y, text.size) for text in days}) == 1


def test_a_name_breaks_before_its_cultivar():
    lines = [text.line for text in layout.draw(tag(), COMMON).texts]
    assert (("Begonia", "bold-italic"),) in lines
    assert (("'Silver Moth'", "bold"),) in lines


@pytest.mark.parametrize(
    ("stock", "kind", "points"),
    [
        ("A4 sheet, 3 × 8 labels 70 × 37 mm", "short", 20),
        ("A4 sheet, 2 × 7 labels 99.1 × 38.1 mm", "short", 26),
        ("A4 sheet, 2 × 7 labels 99.1 × 38.1 mm", "60 characters", 16),
        ("A4 sheet, 10 pot stakes 190 × 25 mm", "short", 26),
        ("A4 sheet, 10 pot stakes 190 × 25 mm", "60 characters", 16),
        ("Roll, pot stakes 127 × 16 mm", "short", 18),
        ("Roll, labels 101.6 × 50.8 mm", "short", 33),
        ("Roll, hanging tags 40 × 90 mm", "species", 18),
    ],
)
def test_the_name_takes_the_room_that_is_there(stock, kind, points):
    """It is read from a metre away, the rest at arm's length."""
    drawing = layout.draw(tag(kind), shipped()[stock])
    assert drawing.name_size >= points
    assert drawing.problems == ()
    code = next(text for text in drawing.texts if "-" in text.line[0][0])
    assert code.size > compose.CODE.floor, "the rest has room to read as well"


def test_a_name_with_a_passport_is_as_large_as_either_place_of_the_passport_lets_it():
    stock = shipped()["A4 sheet, 3 × 7 labels 63.5 × 38.1 mm"]
    issued = Passport("Plantenpaspoort", "NL-123456789", "7K3QF2", "NL")
    drawing = layout.draw(
        tag(name=(("Plectranthus ", True), ("'Tide'", False)), passport=issued), stock
    )
    assert drawing.problems == ()
    assert drawing.frame is not None
    assert drawing.frame.border.width > drawing.frame.border.height * 4, "it lies at the foot"
    assert drawing.name_size > 10


def test_what_has_no_room_is_left_out_in_order_and_said():
    drawing = layout.draw(tag("60 characters", nursery="Grown at Three Oaks"), SMALLEST)
    order = list(layout.LEAVE_OUT.values())
    assert list(drawing.problems) == sorted(drawing.problems, key=order.index)
    assert layout.LEAVE_OUT["stuck_on"] in drawing.problems, "the name takes nearly all the label"
    assert "Three Oaks" not in words(drawing)
    assert "9XZ-T0J" in words(drawing)


def test_what_has_room_once_a_longer_line_is_left_out_comes_back():
    notices = ("Protected variety: not to be propagated without a licence.",)
    drawing = layout.draw(tag(notices=notices), SMALLEST)
    assert drawing.problems == ("Left out for want of room: the notices.",)
    assert "B2-07" in words(drawing)
    assert "MK" in words(drawing)


def test_a_name_too_long_for_the_floor_is_shortened_with_a_sentence():
    drawing = layout.draw(tag(name=LONGEST), SMALLEST)
    said = drawing.problems[-1]
    assert "is too long for this label even at 8 pt" in said
    assert plain(LONGEST) in said
    assert "…" in words(drawing)
    assert_well_placed(drawing, SMALLEST)


def test_letters_that_the_typeface_lacks_are_named():
    (said,) = layout.draw(tag("CJK"), COMMON).problems
    assert said.startswith("Begonia '銀の蛾' can't be printed as it is: ")
    assert "has no 銀 の 蛾" in said


@pytest.mark.parametrize("kind", ["diacritics", "Cyrillic"])
def test_other_scripts_are_drawn_without_a_problem(kind):
    assert layout.draw(tag(kind), COMMON).problems == ()


def test_notices_and_the_nurserys_line_are_printed_where_there_is_room():
    stock = shipped()["Letter sheet, 2 × 5 labels 101.6 × 50.8 mm"]
    drawing = layout.draw(
        tag(notices=("Harmful to pets if eaten.",), nursery="Grown at Three Oaks"), stock
    )
    assert "Harmful to pets if eaten." in words(drawing)
    assert "Grown at Three Oaks" in words(drawing)
    assert drawing.problems == ()


def test_a_tag_of_a_stock_plant_needs_no_method_nor_flat():
    drawing = layout.draw(tag(day_word="Since", method="", count="", initials="", flat=""), COMMON)
    assert "Since 2 Mar 2026 · W10" in words(drawing)


def test_no_room_for_the_qr_is_refused():
    with pytest.raises(qr.TooSmallError, match="Choose a label"):
        layout.draw(tag(), LabelStock("tiny", 30, 9, 30, 9, padding=1))


@given(
    width=st.floats(25, 150),
    height=st.floats(15, 120),
    padding=st.floats(0.5, 3),
    name=st.text("abcdefghilmnoprstu 'ČžБж", min_size=1, max_size=60).filter(str.strip),
)
@settings(max_examples=60, deadline=None)
def test_any_label_and_any_name_say_all_or_say_what_is_missing(width, height, padding, name):
    stock = LabelStock("any", width, height, width, height, padding=padding)
    asked = tag(name=((name, False),))
    try:
        drawing = layout.draw(asked, stock)
    except qr.TooSmallError:
        return
    assert_well_placed(drawing, stock)
    if not drawing.problems:
        assert "".join(name.split()) in words(drawing).replace(" ", "")


def test_a_larger_label_never_says_less():
    small = layout.draw(tag("60 characters"), SMALLEST).problems
    large = layout.draw(
        tag("60 characters"),
        replace(SMALLEST, columns=1, rows=1, label_width=80, label_height=40),
    ).problems
    assert small
    assert not large
