"""Tags to print and ways to read a printed sheet back, with libraries that had no part in it."""

from datetime import date

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import zxingcpp

from labels.tag import Tag

MM = 72 / 25.4

NAMES = {
    "short": (("Begonia ", True), ("'Silver Moth'", False)),
    "species": (("Begonia masoniana", True),),
    "60 characters": (
        ("Begonia rex-cultorum hybrida ", True),
        ("'Grand Duchess of the Meadows'", False),
    ),
    "diacritics": (("Plectranthus ", True), ("'Žluťoučký Kůň Ærø'", False)),
    "Cyrillic": (("Бегония ", True), ("'Серебряная ночь'", False)),
    "CJK": (("Begonia ", True), ("'銀の蛾'", False)),
}
CODES = dict(zip(NAMES, ("7K3QF2", "M4D8WA", "9XZT0J", "B61NVC", "3HGR5E", "Q7YP2S"), strict=True))


def tag(kind: str = "short", **said: object) -> Tag:
    """A tag of a lot, with all that a tag usually says."""
    facts = {
        "name": NAMES[kind],
        "code": CODES[kind],
        "address": address(kind),
        "stuck_on": date(2026, 3, 2),
        "method": "Leaf wedge",
        "count": "48 × 1",
        "initials": "MK",
        "flat": "B2-07",
    }
    return Tag(**{**facts, **said})


def address(kind: str = "short") -> str:
    return f"http://192.168.1.20:8000/T/{CODES[kind]}"


def decoded(pdf: bytes, dpi: int) -> list[str]:
    """What a QR reader finds on the pages of a PDF rasterised at `dpi`, page by page."""
    found = []
    for page in pdfium.PdfDocument(pdf):
        image = page.render(scale=dpi / 72, grayscale=True).to_numpy()
        codes = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
        found += sorted(code.text for code in codes)
    return found


def symbols(pdf: bytes, page: int = 0) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of each QR symbol's dark squares, in mm from the page's top left.

    In the order of printing.
    """
    sheet = pdfium.PdfDocument(pdf)[page]
    height = sheet.get_height()
    found = []
    for path in sheet.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        left, bottom, right, top = path.get_bounds()
        found.append((left / MM, (height - top) / MM, right / MM, (height - bottom) / MM))
    return found


def letters(pdf: bytes, page: int = 0) -> list[tuple[str, float, float, float]]:
    """Each letter of a page with its bottom, left and right edge in mm; spaces left out."""
    text = pdfium.PdfDocument(pdf)[page].get_textpage()
    found = []
    for i in range(text.count_chars()):
        left, bottom, right, _ = text.get_charbox(i)
        found.append((text.get_text_range(i, 1), bottom / MM, left / MM, right / MM))
    return [one for one in found if one[0].strip()]


def embedded_fonts(pdf: bytes, page: int = 0) -> set[tuple[str, bool]]:
    """The names of the fonts that a page's text is set in, and whether each is embedded."""
    sheet = pdfium.PdfDocument(pdf)[page]
    fonts = [text.get_font() for text in sheet.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])]
    return {(font.get_base_name(), font.is_embedded) for font in fonts}


def said(pdf: bytes, page: int = 0) -> str:
    """The words of a page, with white space made even."""
    return " ".join(pdfium.PdfDocument(pdf)[page].get_textpage().get_text_bounded().split())
