"""Names on tags by the International Code of Nomenclature for Cultivated Plants.

Genus and species in italics, the cultivar epithet upright in single quotation marks, the hybrid
sign upright (the Code as summed up by Cornell University's horticulture course and the American
Begonia Society's guide; the 30 characters of an epithet: FAO's poplar summary of the 1995 Code).
"""

import pytest

from labels.layout import draw
from labels.stock import shipped
from tests.labels.samples import tag

STOCKS = [
    shipped()["A4 sheet, 3 × 8 labels 70 × 37 mm"],
    shipped()["A4 sheet, 5 × 13 labels 38.1 × 21.2 mm"],
    shipped()["Roll, pot stakes 127 × 16 mm"],
]
CRYPTOMERIA = (("Cryptomeria japonica ", True), ("'Elegans'", False))
HYBRID = (("Begonia ", True), ("× ", False), ("hiemalis ", True), ("'Aphrodite Pink'", False))
LONGEST_EPITHET = "'" + "Abcdefghij Klmnopqrst Uvwxyzabcd" + "'"  # 30 letters


def name_on(stock, name) -> list[tuple[str, str]]:
    """The pieces of the name as they are set, with their faces, in reading order."""
    drawing = draw(tag(name=name), stock)
    plain = "".join("".join(text.split()) for text, _ in name)
    lines = sorted(drawing.texts, key=lambda text: text.y)
    pieces = [piece for text in lines for piece in text.line if "bold" in piece[1]]
    return [(text.strip(), face) for text, face in pieces if "".join(text.split()) in plain]


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_the_botanical_name_is_italic_and_the_cultivar_upright_in_single_quotes(stock):
    assert name_on(stock, CRYPTOMERIA)[-1] == ("'Elegans'", "bold")
    assert all(face == "bold-italic" for _, face in name_on(stock, CRYPTOMERIA)[:-1])


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_the_hybrid_sign_is_upright(stock):
    faces = dict(name_on(stock, HYBRID))
    assert faces["×"] == "bold"
    assert faces["Begonia"] == "bold-italic"


def test_no_double_quotes_nor_cv_are_added():
    said = " ".join(text for text, _ in name_on(STOCKS[0], CRYPTOMERIA))
    assert '"' not in said
    assert "cv." not in said


@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_an_epithet_of_thirty_characters_is_never_cut_off(stock):
    drawing = draw(tag(name=(("Begonia ", True), (LONGEST_EPITHET, False))), stock)
    said = "".join(piece for text in drawing.texts for piece, _ in text.line)
    assert "".join(LONGEST_EPITHET.split()) in "".join(said.split())
