"""The test sheet: every label's outline, crosses on its corners, and two rulers to measure with."""

from collections.abc import Callable, Iterator
from html import escape

from labels import typeface
from labels.sentences import Sentence
from labels.stock import LabelStock, place

ARM = 2.0
"""Millimetres of a cross's arms."""

ACROSS = 0.4
"""Where the ruler across stands, as a share of the first label's height."""

RULER = 100.0
"""Millimetres of the longest ruler."""


def svg(
    stock: LabelStock, offset: tuple[float, float], scale: float, say: Callable[[Sentence], str]
) -> str:
    """A page-sized SVG in millimetres, moved and enlarged as the tags would be.

    `say` puts a sentence into the language that the sheet is read in.
    """
    x, y = offset
    words = _words(stock, say)
    drawn = "".join((*_labels(stock), *_ruler_across(stock), *_ruler_down(stock), *words))
    size = f'width="{stock.page_width}mm" height="{stock.page_height}mm"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} style="display:block" '
        f'viewBox="0 0 {stock.page_width} {stock.page_height}">'
        f'<g transform="translate({x} {y}) scale({scale})" stroke="#000" stroke-width="0.15" '
        f'fill="none">{drawn}</g></svg>'
    )


def _labels(stock: LabelStock) -> Iterator[str]:
    width, height = stock.label_width, stock.label_height
    for position in range(stock.labels_a_page):
        x, y = place(stock, position)
        yield (
            f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{stock.corner}" '
            'stroke-dasharray="1 1"/>'
        )
        for cx in (x, x + width):
            for cy in (y, y + height):
                yield f'<path d="M{cx - ARM} {cy}H{cx + ARM}M{cx} {cy - ARM}V{cy + ARM}"/>'


def _longest(room: float) -> int:
    """A ruler's length: whole centimetres that fit."""
    return int(min(RULER, room) // 10 * 10)


def _ruler_across(stock: LabelStock) -> Iterator[str]:
    """From the first label's left edge, with a tick each millimetre."""
    y = stock.top + ACROSS * stock.label_height
    length = _longest(stock.page_width - stock.left - 2)
    ticks = "".join(f"M{stock.left + i} {y}v{-_tick(i)}" for i in range(length + 1))
    yield f'<path d="M{stock.left} {y}h{length}{ticks}"/>'


def _ruler_down(stock: LabelStock) -> Iterator[str]:
    """From the first label's top edge, with a tick each millimetre."""
    x = stock.left + stock.label_width * 0.9
    length = _longest(stock.page_height - stock.top - 2)
    ticks = "".join(f"M{x} {stock.top + i}h{-_tick(i)}" for i in range(length + 1))
    yield f'<path d="M{x} {stock.top}v{length}{ticks}"/>'


def _tick(millimetre: int) -> float:
    return 3 if millimetre % 10 == 0 else 2 if millimetre % 5 == 0 else 1


def _words(stock: LabelStock, say: Callable[[Sentence], str]) -> Iterator[str]:
    """What the measures should be, on the first label."""
    across = _longest(stock.page_width - stock.left - 2)
    down = _longest(stock.page_height - stock.top - 2)
    sentences = (
        Sentence("First cross: %(mm)g mm from the left,", mm=stock.left),
        Sentence("%(mm)g mm from the top.", mm=stock.top),
        Sentence("Rulers: %(mm)d mm across,", mm=across),
        Sentence("%(mm)d mm down.", mm=down),
    )
    lines = [typeface.drawable(say(sentence)) for sentence in sentences]
    widest = max(typeface.width(line, "regular") for line in lines)
    size = min(3.5, 0.8 * stock.label_width / widest, 0.1 * stock.label_height)
    family = ", ".join(typeface.FAMILIES)
    for i, line in enumerate(lines):
        y = stock.top + ACROSS * stock.label_height + (i + 1.3) * 1.25 * size
        yield (
            f'<text x="{stock.left + 1.5}" y="{y:.2f}" font-family="{family}" '
            f'font-size="{size:.2f}" fill="#000" stroke="none">{escape(line)}</text>'
        )
