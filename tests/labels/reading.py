"""A printed sheet read back as a person reads it: every word of every tag, on its own label.

The PDF is read by PDFium, which had no part in writing it. Where each label is comes from the
stock's measurements alone, and where each line should be from the layout's drawing of that tag.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain, repeat
from math import ceil, floor

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw

from labels import layout, qr
from labels.order import Order
from labels.stock import Box
from tests.labels.samples import MM

NEAR = 0.08
"""Millimetres that ink may be off: what rounding adds up to."""

ACCENT = 0.16
"""Ems by which an accent, or the tail of a letter, may leave its line for the white beside it."""


@dataclass
class Printed:
    """A line of a tag as it should stand on a page: its box in mm from the page's top left."""

    label: int
    box: Box
    text: str
    size: float  # mm
    found: list[tuple[float, str, Box]] = field(default_factory=list)

    def holds(self, x: float, y: float) -> bool:
        spare = ACCENT * self.size
        return (
            self.box.x - NEAR <= x <= self.box.x + self.box.width + NEAR
            and self.box.y - spare <= y <= self.box.y + self.box.height + spare
        )


@dataclass
class Reading:
    """What came of reading a sheet: the words read, and what is not as it should be."""

    pages: int = 0
    words: int = 0
    strays: list[str] = field(default_factory=list)


def read(pdf: bytes, order: Order, dpi: int = 72) -> Reading:
    """Read all pages of an order's PDF back."""
    expected = _expected(order)
    document = pdfium.PdfDocument(pdf)
    reading = Reading(pages=len(document))
    if len(document) != order.pages:
        reading.strays.append(f"{len(document)} pages in place of {order.pages}")
    for number, page in enumerate(document):
        lines, marks = expected[number]
        said = reading.strays
        before = len(said)
        said += _letters(page, lines, order)
        said += _words(lines)
        said += _pixels(page, lines, marks, dpi)
        said[before:] = [f"page {number + 1}: {stray}" for stray in said[before:]]
        reading.words += sum(len(line.text.split()) for line in lines if line.found)
    return reading


def label_box(order: Order, position: int) -> Box:
    """Where a label of a page comes to lie through the printer, in mm from the page's top left."""
    stock, by = order.stock, order.scale
    row, column = divmod(position, stock.columns)
    return Box(
        (stock.left + column * stock.pitch_x) * by + order.offset[0],
        (stock.top + row * stock.pitch_y) * by + order.offset[1],
        stock.label_width * by,
        stock.label_height * by,
    )


def _expected(order: Order) -> dict[int, tuple[list[Printed], list[Box]]]:
    """For each page its lines, and the boxes of what is drawn beside text."""
    stock, by = order.stock, order.scale
    pages: dict[int, tuple[list[Printed], list[Box]]] = defaultdict(lambda: ([], []))
    tags = chain.from_iterable(map(repeat, order.tags, order.copies))
    for number, tag in enumerate(tags, order.start - 1):
        page, position = divmod(number, stock.labels_a_page)
        drawing = layout.draw(tag, stock)
        lines, marks = pages[page]
        for face in range(stock.faces):
            label = label_box(order, position)
            x, y = label.x + face * stock.face_width * by, label.y
            for text in drawing.texts:
                box = Box(x + text.x * by, y + text.y * by, text.width * by, text.height * by)
                words = "".join(piece for piece, _ in text.line)
                shared = next((one for one in lines if one.box == box), None)
                if shared:  # the code and the flat stand at the two ends of one line
                    shared.text += " " + words
                else:
                    lines.append(Printed(position, box, words, text.size / MM * by))
            quiet = qr.QUIET * drawing.symbol.module_mm
            side = drawing.symbol.side_mm - 2 * quiet
            marks.append(
                Box(
                    x + (drawing.qr_x + quiet) * by,
                    y + (drawing.qr_y + quiet) * by,
                    side * by,
                    side * by,
                )
            )
            if drawing.frame:
                edge = drawing.frame.border
                marks.append(
                    Box(x + edge.x * by, y + edge.y * by, edge.width * by, edge.height * by)
                )
    return pages


def _characters(page: pdfium.PdfPage) -> Iterator[tuple[str, Box]]:
    """Each character of a page that has ink, with its ink's box in mm from the page's top left."""
    text = page.get_textpage()
    height = page.get_height()
    for i in range(text.count_chars()):
        letter = chr(raw.FPDFText_GetUnicode(text, i))
        if letter.isspace():
            continue
        left, bottom, right, top = text.get_charbox(i)
        yield (
            letter,
            Box(left / MM, (height - top) / MM, (right - left) / MM, (top - bottom) / MM),
        )


def _letters(page: pdfium.PdfPage, lines: list[Printed], order: Order) -> Iterator[str]:
    """Give each character to its line; what is on no line, or leaves its label, is a stray."""
    for letter, ink in _characters(page):
        x, y = ink.x + ink.width / 2, ink.y + ink.height / 2
        holding = [line for line in lines if line.holds(x, y)]
        if not holding:
            yield f"“{letter}” at {x:.1f}, {y:.1f} mm belongs to no line"
            continue
        line = min(holding, key=lambda one: abs(one.box.y + one.box.height / 2 - y))
        line.found.append((ink.x, letter, ink))
        label = label_box(order, line.label)
        if (
            ink.x < label.x - NEAR
            or ink.y < label.y - NEAR
            or ink.x + ink.width > label.x + label.width + NEAR
            or ink.y + ink.height > label.y + label.height + NEAR
        ):
            yield f"“{letter}” of “{line.text}” leaves label {line.label + 1}"


def _words(lines: list[Printed]) -> Iterator[str]:
    """Lines that do not read as they should, and those that touch a line of another label."""
    inked = []
    for line in lines:
        line.found.sort(key=lambda one: one[0])
        read_back = "".join(letter for _, letter, _ in line.found)
        if read_back != "".join(line.text.split()):
            yield f"label {line.label + 1} reads “{read_back}” for “{line.text}”"
        if line.found:
            boxes = [ink for *_, ink in line.found]
            inked.append(
                (
                    line.label,
                    min(box.x for box in boxes),
                    min(box.y for box in boxes),
                    max(box.x + box.width for box in boxes),
                    max(box.y + box.height for box in boxes),
                )
            )
    if not inked:
        return
    label, left, top, right, bottom = np.array(inked).T
    touching = (
        (label[:, None] != label)
        & (left[:, None] < right - NEAR)
        & (left < right[:, None] - NEAR)
        & (top[:, None] < bottom - NEAR)
        & (top < bottom[:, None] - NEAR)
    )
    for one, other in np.argwhere(np.triu(touching)):
        yield f"words of labels {label[one] + 1:.0f} and {label[other] + 1:.0f} touch"


def _pixels(
    page: pdfium.PdfPage, lines: list[Printed], marks: list[Box], dpi: int
) -> Iterator[str]:
    """What a page shows where nothing should be, and lines that show nothing."""
    dark = page.render(scale=dpi / 72, grayscale=True).to_numpy() < 160
    rows, columns = dark.shape
    # A page of no whole number of dots is stretched to the next: its dots are a little smaller.
    width, height = page.get_width() / MM, page.get_height() / MM
    across, down = width / columns, height / rows
    clear = np.ones_like(dark)

    def part(box: Box, spare: float = 0.0) -> tuple[slice, slice]:
        top, bottom = (box.y - spare) / down - 1, (box.y + box.height + spare) / down + 1
        left, right = box.x / across - 1, (box.x + box.width) / across + 1
        return (
            slice(max(floor(top), 0), min(max(ceil(bottom), 0), rows)),
            slice(max(floor(left), 0), min(max(ceil(right), 0), columns)),
        )

    for mark in marks:
        clear[part(mark)] = False
    for line in lines:
        clear[part(line.box, ACCENT * line.size)] = False
        box = dark[part(line.box)]
        if box.size and not box.any() and _on_paper(line.box, width, height):
            yield f"label {line.label + 1} shows nothing for “{line.text}”"
    if (dark & clear).any():
        y, x = np.argwhere(dark & clear)[0] * (down, across)
        yield f"{(dark & clear).sum()} dots where nothing should be, one at {x:.1f}, {y:.1f} mm"


def _on_paper(box: Box, width: float, height: float) -> bool:
    return box.x >= 0 and box.y >= 0 and box.x + box.width <= width and box.y + box.height <= height
