"""From drawings to a PDF: WeasyPrint sets the text, the QR symbols go in as one vector path each.

Every page is one container of fixed height and every line stands at a fixed place: WeasyPrint then
takes the same time for each page (a container that spans pages does not). The symbols are written
straight into the page as rectangles of one path, filled at once: no seams between the squares, and
a fraction of the time that an SVG of as many squares takes.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from threading import Lock

import pydyf
from weasyprint import CSS, HTML, Document
from weasyprint.text.fonts import FontConfiguration

from labels import qr, typeface
from labels.compose import Text
from labels.layout import Drawing

MM = 72 / 25.4
"""Points in a millimetre."""

STYLE = """
@page { margin: 0 }
html, body { margin: 0; color: #000; font-family: %s }
section { position: relative; overflow: hidden; break-after: page }
section:last-child { break-after: auto }
p { position: absolute; margin: 0; white-space: pre }
b { font-weight: bold }
i { font-weight: bold; font-style: italic }
.right { text-align: right }
"""

_one_at_a_time = Lock()
"""Pango's font map, shared so that the fonts are read once, is for one thread at a time."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing whose label has its corner at (`x`, `y`) millimetres of the page."""

    drawing: Drawing
    x: float
    y: float


def render(
    pages: Sequence[Sequence[Placed]],
    width: float,
    height: float,
    scale: float = 1.0,
    title: str = "",
    extra: str = "",
) -> bytes:
    """A PDF with a page of `width` × `height` mm for each list of drawings.

    `scale` enlarges what is drawn on a label, from its corner. `extra` is HTML put on every page.
    """
    size = f"width:{width}mm;height:{height}mm"
    lines = ("".join(_lines(placed, scale) for placed in page) for page in pages)
    sections = (f'<section style="{size}">{set_page}{extra}</section>' for set_page in lines)
    html = f"<title>{escape(title)}</title>{''.join(sections)}"
    page_size = f"@page {{ size: {width}mm {height}mm }}"
    with _one_at_a_time:
        fonts, style = _fonts()
        document = HTML(string=html).render(
            stylesheets=[style, CSS(string=page_size)], font_config=fonts
        )
        return bytes(document.write_pdf(finisher=_drawing_symbols(pages, height, scale)))


_FACE = {
    "regular": "font-weight: normal",
    "bold": "font-weight: bold",
    "bold-italic": "font-weight: bold; font-style: italic",
}


@cache
def _fonts() -> tuple[FontConfiguration, CSS]:
    fonts = FontConfiguration()
    faces = "".join(
        f"@font-face {{ font-family: '{family}'; {style};"
        f"src: url('{typeface.file(family, face).as_uri()}') }}"
        for family in typeface.FAMILIES
        for face, style in _FACE.items()
    )
    families = ", ".join(f"'{family}'" for family in typeface.FAMILIES)
    return fonts, CSS(string=faces + STYLE % families, font_config=fonts)


_ELEMENT = {"regular": "{}", "bold": "<b>{}</b>", "bold-italic": "<i>{}</i>"}


def _lines(placed: Placed, scale: float) -> str:
    return "".join(_line(text, placed.x, placed.y, scale) for text in placed.drawing.texts)


def _line(text: Text, x: float, y: float, scale: float) -> str:
    said = "".join(_ELEMENT[face].format(escape(piece)) for piece, face in text.line)
    right = " class=right" if text.right else ""
    return (
        f'<p{right} style="left:{x + text.x * scale:.3f}mm;top:{y + text.y * scale:.3f}mm;'
        f"width:{text.width * scale:.3f}mm;font-size:{text.size * scale:.2f}pt;"
        f'line-height:{text.height * scale:.3f}mm">{said}</p>'
    )


def _drawing_symbols(
    pages: Sequence[Sequence[Placed]], height: float, scale: float
) -> Callable[[Document, pydyf.PDF], None]:
    """A finisher for WeasyPrint that adds each page's symbols under its text."""

    def finish(_: Document, pdf: pydyf.PDF) -> None:
        numbers = pdf.pages["Kids"][::3]
        for number, page in zip(numbers, pages, strict=True):
            content = [_symbol(placed, height, scale) for placed in page]
            stream = pydyf.Stream(content, compress=True)
            pdf.add_object(stream)
            sheet = pdf.objects[number]
            sheet["Contents"] = pydyf.Array([stream.reference, sheet["Contents"]])

    return finish


def _symbol(placed: Placed, page_height: float, scale: float) -> str:
    """PDF operators that fill the dark squares, in a coordinate system of one unit a square."""
    drawing = placed.drawing
    square = drawing.symbol.module_mm * scale * MM
    quiet = qr.QUIET * drawing.symbol.module_mm
    left = (placed.x + (drawing.qr_x + quiet) * scale) * MM
    top = (page_height - placed.y - (drawing.qr_y + quiet) * scale) * MM
    runs = " ".join(f"{x} {y} {length} 1 re" for x, y, length in _runs(drawing.symbol.matrix))
    return f"q {square:.5f} 0 0 {-square:.5f} {left:.4f} {top:.4f} cm 0 g {runs} f Q"


def _runs(matrix: qr.Matrix) -> Iterator[tuple[int, int, int]]:
    """Dark stretches of each row: where they start, and how many squares long."""
    for y, row in enumerate(matrix):
        start = None
        for x, dark in enumerate((*row, False)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield start, y, x - start
                start = None
