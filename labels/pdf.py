"""From drawings to a PDF: WeasyPrint sets the text, the QR symbols go in as one vector path each.

Every page is one container of fixed height and every line stands at a fixed place: WeasyPrint then
takes the same time for each page (a container that spans pages does not). Its time goes by
elements, not by lines, so lines of one style that stand in a column of labels are one paragraph,
with lines as high as the labels are apart. These reach beyond the last label, and a nudge may take
them further: WeasyPrint is given a page so high that it never comes to a foot to break them at, and
the page is cut to its height when all is set.
The symbols are written straight into the page as rectangles of one path, filled at once: no seams
between the squares, and a fraction of the time that an SVG of as many squares takes.
"""

import atexit
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from itertools import batched
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

import pydyf

from labels import qr, typeface
from labels.fit import Line
from labels.layout import Drawing
from labels.passport import Frame
from labels.passport import stars as stars_of

if TYPE_CHECKING:
    from weasyprint import CSS, Document
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher

LINE = 0.2
"""Millimetres of a border line's width."""

MM = 72 / 25.4
"""Points in a millimetre."""

PX = 96 / 25.4
"""CSS pixels in a millimetre."""

STYLE = """
@page { margin: 0 }
html, body { margin: 0; color: #000; font-family: %s }
section { position: relative; overflow: hidden; break-after: page }
section:last-child { break-after: auto }
p { position: absolute; margin: 0; white-space: pre }
.bold { font-weight: bold; font-style: normal }
.bold-italic { font-weight: bold; font-style: italic }
.right { text-align: right }
"""

PAGES_AT_ONCE = 8
"""Pages that WeasyPrint sets before the next progress is told."""

_one_at_a_time = Lock()
"""Pango's font map, shared so that the fonts are read once, is for one thread at a time."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing whose label, in a row of the page, has its corner at (`x`, `y`) millimetres."""

    drawing: Drawing
    x: float
    y: float
    row: int = 0


def render(
    pages: Sequence[Sequence[Placed]],
    width: float,
    height: float,
    pitch: float,
    scale: float = 1.0,
    title: str = "",
    reached: Callable[[float], None] = lambda share: None,
) -> bytes:
    """A PDF with a page of `width` × `height` mm for each list of drawings.

    Rows of labels are `pitch` mm apart. `scale` enlarges what is drawn on a label, from its corner.
    `reached` is told the share of the pages that is set.
    """
    lowest = max(
        (
            placed.y + (text.y + text.height) * scale
            for page in pages
            for placed in page
            for text in placed.drawing.texts
        ),
        default=0.0,
    )
    # No line is higher than all rows of labels together.
    foot = max(height, lowest) + height * scale
    size = f"width:{width}mm;height:{height}mm"
    texts = ("".join(_paragraphs(page, pitch, scale)) for page in pages)
    sections = (f'<section style="{size}">{text}</section>' for text in texts)
    bodies = map("".join, batched(sections, PAGES_AT_ONCE))

    def told() -> Iterator[str]:
        for i, body in enumerate(bodies):
            reached(i * PAGES_AT_ONCE / len(pages))
            yield body

    return write(told(), width, height, title, foot, _drawing_symbols(pages, height, scale))


def write(
    bodies: Iterable[str],
    width: float,
    height: float,
    title: str,
    foot: float,
    finisher: "Callable[[Document, pydyf.PDF], None] | None" = None,
) -> bytes:
    """A PDF of HTML bodies, one after the other, on pages of `width` × `height` mm.

    In the tag's typeface. The bodies are set on pages that reach down to `foot`, in mm.
    """
    # It takes a second to load, and only printing needs it: not every command.
    from weasyprint import CSS, HTML

    page_size = f"@page {{ size: {width}mm {foot}mm }}"
    with _one_at_a_time:
        fonts, style, fetcher = _fonts()
        styles = [style, CSS(string=page_size, url_fetcher=fetcher)]
        documents = [
            HTML(string=f"<title>{escape(title)}</title>{body}", url_fetcher=fetcher).render(
                stylesheets=styles, font_config=fonts
            )
            for body in bodies
        ]
        pages = [page for document in documents for page in document.pages]
        for page in pages:
            page.height = height * PX
        whole = documents[0].copy(pages)
        return bytes(whole.write_pdf(finisher=finisher))


_FACE = {
    "regular": "font-weight: normal",
    "bold": "font-weight: bold",
    "bold-italic": "font-weight: bold; font-style: italic",
}


@cache
def _fonts() -> "tuple[FontConfiguration, CSS, URLFetcher]":
    """The fonts and styles of every sheet, and what fetches its fonts: from files, nothing else.

    WeasyPrint makes a fetcher for every document if it is given none, with the certificates that
    it would need on the internet, which takes longer than to set a page.
    """
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher

    fonts, fetcher = FontConfiguration(), URLFetcher(allowed_protocols={"file"})
    # Left to Python's end, the fonts would be put away by modules that are gone by then.
    atexit.register(_fonts.cache_clear)
    faces = "".join(
        f"@font-face {{ font-family: '{family}'; {style};"
        f"src: url('{typeface.file(family, face).as_uri()}') }}"
        for family in typeface.FAMILIES
        for face, style in _FACE.items()
    )
    families = ", ".join(f"'{family}'" for family in typeface.FAMILIES)
    named = "".join(f".{family} {{ font-family: '{family}' }}" for family in typeface.FAMILIES)
    style = CSS(string=faces + STYLE % families + named, font_config=fonts, url_fetcher=fetcher)
    return fonts, style, fetcher


class Column(NamedTuple):
    """What lines must share to be one paragraph: place in the first row, size, face, alignment."""

    x: float
    y: float
    width: float
    height: float
    size: float
    face: str
    right: bool
    alone: int | None
    """The row of a line that shares its paragraph with none."""


def _paragraphs(page: Sequence[Placed], pitch: float, scale: float) -> Iterator[str]:
    """The lines of a page; those of one style in a column of labels are one paragraph.

    Such a paragraph has lines as high as its labels are apart, empty ones for labels without one.
    A line with letters of another design, which is a little higher and would move all below it,
    stands alone.
    """
    columns: dict[Column, dict[int, Line]] = {}
    for placed in page:
        top = placed.y - placed.row * pitch
        for text in placed.drawing.texts:
            column = Column(
                x=round(placed.x + text.x * scale, 3),
                y=round(top + text.y * scale, 3),
                width=text.width * scale,
                height=text.height * scale,
                size=text.size * scale,
                face=text.line[0][1],
                right=text.right,
                alone=None if _is_even(text.line) else placed.row,
            )
            columns.setdefault(column, {})[placed.row] = text.line
    for column, lines in columns.items():
        first, last = min(lines), max(lines)
        apart = pitch if last > first else column.height
        top = column.y + first * pitch - (apart - column.height) / 2
        yield (
            f'<p class="{column.face}{" right" if column.right else ""}" '
            f'style="left:{column.x}mm;top:{top:.3f}mm;width:{column.width:.3f}mm;'
            f'font-size:{column.size:.3f}pt;line-height:{apart:.3f}mm">'
            f"{'\n'.join(_spans(lines.get(row, ())) for row in range(first, last + 1))}</p>"
        )


@cache
def _is_even(line: Line) -> bool:
    return all(typeface.is_alike(text, face) for text, face in line)


def _spans(line: Line) -> str:
    """A line whose first face is its paragraph's, and whose letters name the family to take.

    Left to itself, Pango 1.56 makes a letter that a family lacks of two that it has, which older
    ones don't; and of such two the first has no text in the PDF, so that readers take the number
    of its glyph for a letter.
    """
    return "".join(
        f"<span class={face}>{_of_families(piece, face)}</span>" if i else _of_families(piece, face)
        for i, (piece, face) in enumerate(line)
    )


def _of_families(text: str, face: str) -> str:
    return "".join(
        escape(piece)
        if family == typeface.FAMILIES[0]
        else f"<span class={family}>{escape(piece)}</span>"
        for family, piece in typeface.by_family(text, face)
    )


def _drawing_symbols(
    pages: Sequence[Sequence[Placed]], height: float, scale: float
) -> "Callable[[Document, pydyf.PDF], None]":
    """A finisher for WeasyPrint that adds each page's symbols under its text."""

    def finish(_: "Document", pdf: pydyf.PDF) -> None:
        numbers = pdf.pages["Kids"][::3]
        for number, page in zip(numbers, pages, strict=True):
            content = [_symbol(placed, height, scale) for placed in page]
            content += [
                _framed(placed.drawing.frame, placed, height, scale)
                for placed in page
                if placed.drawing.frame
            ]
            # Pydyf would compress it as far as it goes: a sixth less in seven times the time.
            packed = zlib.compress("\n".join(content).encode("ascii"))
            stream = pydyf.Stream([packed], extra={"Filter": "/FlateDecode"})
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
    dark = " ".join(f"{x} {y} {length} 1 re" for x, y, length in runs(drawing.symbol.matrix))
    return f"q {square:.5f} 0 0 {-square:.5f} {left:.4f} {top:.4f} cm 0 g {dark} f Q"


def _framed(frame: Frame, placed: Placed, page_height: float, scale: float) -> str:
    """PDF operators for a passport's border line and flag, in millimetres from the label's corner.

    The flag is in black on white: an outlined rectangle and black stars.
    """
    unit = scale * MM
    left, top = placed.x * MM, (page_height - placed.y) * MM
    outlines = " ".join(
        f"{box.x:.4f} {box.y:.4f} {box.width:.4f} {box.height:.4f} re S"
        for box in (frame.border, frame.flag)
    )
    stars = " ".join(
        " ".join(f"{x:.4f} {y:.4f} {'l' if i else 'm'}" for i, (x, y) in enumerate(corners)) + " h"
        for corners in stars_of(frame.flag)
    )
    return (
        f"q {unit:.5f} 0 0 {-unit:.5f} {left:.4f} {top:.4f} cm {LINE} w 0 G 0 g "
        f"{outlines} {stars} f Q"
    )


def runs(matrix: qr.Matrix) -> Iterator[tuple[int, int, int]]:
    """Dark stretches of each row: where they start, and how many squares long."""
    for y, row in enumerate(matrix):
        start = None
        for x, dark in enumerate((*row, False)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield start, y, x - start
                start = None
