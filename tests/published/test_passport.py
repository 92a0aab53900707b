"""The EU plant passport: Regulation (EU) 2016/2031, Annex VII, Part A, and Commission Implementing
Regulation (EU) 2017/2313, Article 2.

Annex VII, Part A (1): (a) the words "Plant Passport" in the upper right corner, in one of the
Union's official languages and, if different, in English, separated by a slash; (b) the flag of the
Union in the upper left corner, in colour or in black and white; (c) the letter "A." and the
botanical name; (d) the letter "B.", the two-letter code of the Member State, a hyphen and the
registration number; (e) the letter "C." and the traceability code; (f) the letter "D." and, where
applicable, the origin. Article 2: in a rectangular or square shape, legible without the use of a
visual aid, in a border line or otherwise clearly separated from any other matter.
"""

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

from labels import layout, passport
from labels.compose import MM_A_POINT
from labels.sheet import make
from labels.stock import shipped
from labels.tag import Passport
from tests.labels.samples import MM, letters, said, tag

STOCK = shipped()["A4 sheet, 2 × 7 labels 99.1 × 38.1 mm"]
STOCKS = [stock for name, stock in shipped().items() if "38.1 × 21.2" not in name]
DUTCH = Passport("Plantenpaspoort", "NL-123456789", "7K3QF2", "NL")


def printed(issued: Passport = DUTCH) -> bytes:
    return make([tag(passport=issued)], STOCK).pdf


def frame():
    return layout.draw(tag(passport=DUTCH), STOCK).frame


def test_it_says_what_annex_vii_lists():
    words = said(printed())
    assert "Plantenpaspoort / Plant Passport" in words
    assert "A. Begonia 'Silver Moth'" in words
    assert "B. NL-123456789" in words
    assert "C. 7K3QF2" in words
    assert "D. NL" in words


def test_where_the_official_language_is_english_the_words_stand_once_without_a_slash():
    words = said(printed(Passport("", "IE-1234", "7K3QF2")))
    assert words.count("Plant Passport") == 1
    assert "/" not in words
    assert "D." not in words, "letter D only where it applies"


def test_the_flag_is_upper_left_and_the_words_upper_right():
    found = frame()
    title = [text for text in found.texts if "Passport" in "".join(p for p, _ in text.line)][-1]
    border, flag = found.border, found.flag
    assert flag.x - border.x == pytest.approx(flag.y - border.y) == pytest.approx(passport.INSIDE)
    assert title.right
    assert title.x > flag.x + flag.width
    assert border.x + border.width - title.x - title.width == pytest.approx(passport.INSIDE)
    others = [text for text in found.texts if not text.right]
    assert (
        max(title.y + title.height, flag.y + flag.height) <= min(text.y for text in others) + 0.01
    )


def test_the_letters_stand_in_their_order():
    lines = ["".join(piece for piece, _ in text.line) for text in frame().texts]
    places = [" ".join(lines).index(letter) for letter in ("A. ", "B. ", "C. ", "D. ")]
    assert places == sorted(places)


def test_the_flag_has_twelve_stars_of_five_points_on_a_ground_half_as_wide_again_as_high():
    flag = frame().flag
    assert flag.width / flag.height == pytest.approx(1.5)
    stars = list(passport.stars(flag))
    assert len(stars) == 12
    assert {len(corners) for corners in stars} == {10}
    for corners in stars:
        assert all(flag.x < x < flag.x + flag.width for x, _ in corners)
        assert all(flag.y < y < flag.y + flag.height for _, y in corners)


def test_the_border_line_is_drawn_and_all_of_the_passport_stands_in_it():
    page = pdfium.PdfDocument(printed())[0]
    height = page.get_height()
    boxes = [
        (left / MM, (height - top) / MM, right / MM, (height - bottom) / MM)
        for left, bottom, right, top in (
            path.get_bounds() for path in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])
        )
    ]
    border = frame().border
    x, y = STOCK.left + border.x, STOCK.top + border.y
    expected = (x, y, x + border.width, y + border.height)
    around = 0.25  # mm: bounds of a path hold its line, with some white
    assert any(box == pytest.approx(expected, abs=around) for box in boxes)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_it_keeps_clear_of_the_rest_of_the_label_and_is_legible(stock):
    drawing = layout.draw(tag(passport=DUTCH), stock)
    words = ["".join(piece for piece, _ in text.line) for text in drawing.texts]
    assert "7K3-QF2" in words, "no passport takes the place of name and code"
    if drawing.frame is None:
        assert layout.NO_PASSPORT in drawing.problems, "what has no room is told"
        return
    border = drawing.frame.border
    for text in drawing.texts:
        if text in drawing.frame.texts:
            assert text.size >= 6
            assert border.x <= text.x
            assert text.x + text.width <= border.x + border.width
            assert text.y + text.height <= border.y + border.height
        else:
            assert text.x + text.width < border.x or text.y + text.height < border.y
    side = drawing.symbol.side_mm
    assert drawing.qr_x + side <= border.x + 1e-9 or drawing.qr_y + side <= border.y + 1e-9


def test_letters_of_six_points_and_more_are_a_millimetre_and_a_half_high():
    """Without visual aid: common practice for labels, no source."""
    assert passport.TYPE.floor * MM_A_POINT > 2 * 0.7
    assert letters(printed())


def test_a_label_without_room_for_it_is_told():
    small = shipped()["A4 sheet, 5 × 13 labels 38.1 × 21.2 mm"]
    assert layout.NO_PASSPORT in layout.draw(tag(passport=DUTCH), small).problems
