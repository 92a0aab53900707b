"""Paper sizes: ISO 216 for A4, 8.5 × 11 inches for US Letter; an inch is 25.4 mm, 72 points."""

import pypdfium2 as pdfium
import pytest

from labels.sheet import make
from labels.stock import shipped
from tests.labels.samples import tag

SIZES = {
    "A4": (210.0, 297.0, 595.276, 841.890),
    "Letter": (215.9, 279.4, 612.0, 792.0),
}
SHEETS = [(name, stock) for name, stock in shipped().items() if " sheet, " in name]


@pytest.mark.parametrize(("name", "stock"), SHEETS)
def test_a_sheets_page_is_its_paper(name, stock):
    width, height, *_ = SIZES[name.split()[0]]
    assert (stock.page_width, stock.page_height) == (width, height)


@pytest.mark.parametrize("paper", SIZES)
def test_the_pdfs_page_is_the_paper(paper):
    stock = next(stock for name, stock in SHEETS if name.startswith(paper))
    page = pdfium.PdfDocument(make([tag()], stock).pdf)[0]
    assert page.get_size() == pytest.approx(SIZES[paper][2:], abs=0.01)


def test_a4_halves_into_the_next_size_with_the_same_shape():
    """ISO 216: sides in the ratio of 1 to the root of 2, rounded to the millimetre."""
    width, height, *_ = SIZES["A4"]
    assert height == pytest.approx(width * 2**0.5, abs=0.5)
