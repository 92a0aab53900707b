"""Sheets of tags: which tag goes on which label of which page, and the PDF of it."""

import gc
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from labels import layout, pdf, qr, testsheet
from labels.order import Order
from labels.sentences import Sentence, SentenceError
from labels.stock import MM, SLACK, LabelStock, place, usable
from labels.stock import check as check_stock
from labels.tag import Tag

type Problems = list[tuple[str, Sentence]]
"""Each a lot's code and a sentence."""


class CannotPrintError(SentenceError):
    """A sheet that can't be made at all; the sentence says why and what would be right."""


LAID_OUT, WRITTEN = 0.2, 0.9
"""The shares of the time after which the tags are laid out, and the pages set."""


@dataclass(frozen=True)
class Sheet:
    """A printable sheet: the PDF, its pages, and what a person should know before printing."""

    pdf: bytes
    pages: int
    problems: Problems


def check_order(order: Order) -> Problems:
    """What won't be as wished on an order's sheet: of its tags, and of where they come to stand."""
    return check(order.tags, order.stock) + _off_the_page(order)


def check(tags: Sequence[Tag], stock: LabelStock) -> Problems:
    """What won't be as wished, a tag at a time, without making the PDF.

    A fault in the stock's measurements, or a QR that won't fit, comes with the code it stops
    (the stock's faults with an empty code).
    """
    problems: Problems = [("", fault) for fault in check_stock(stock)]
    if problems:
        return problems
    for tag in tags:
        try:
            said = layout.draw(tag, stock).problems
        except qr.TooSmallError as error:
            said = (error.sentence,)
        problems += [(tag.code, sentence) for sentence in said]
    return problems


def _off_the_page(order: Order) -> Problems:
    """What a printer's nudge and scale push off the page, the most at each edge."""
    stock, inside = order.stock, usable(order.stock)
    last_x, last_y = place(stock, stock.labels_a_page - 1)
    last_x += (stock.faces - 1) * stock.face_width
    (dx, dy), by = order.offset, order.scale
    over = {
        "left": -((stock.left + inside.x) * by + dx),
        "top": -((stock.top + inside.y) * by + dy),
        "right": (last_x + inside.x + inside.width) * by + dx - stock.page_width,
        "bottom": (last_y + inside.y + inside.height) * by + dy - stock.page_height,
    }
    return [
        (
            "",
            Sentence(
                "The printer's nudge and scale push %(over)s of what is printed off the page, at "
                "the %(side)s. Print a test sheet, and see whether they are right.",
                over=MM.amount(mm),
                side=Sentence(side),
            ),
        )
        for side, mm in over.items()
        if mm > SLACK
    ]


def make(
    tags: Sequence[Tag],
    stock: LabelStock,
    *,
    start: int = 1,
    offset: tuple[float, float] = (0.0, 0.0),
    scale: float = 1.0,
    copies: int | Mapping[str, int] = 1,
) -> Sheet:
    """The PDF of tags in their order, from label number `start` of the first page.

    `offset` in mm (right, down) and `scale` correct a printer that feeds askew. `copies` is one
    number for all tags, or numbers by code (1 for a code not named).

    Raises `CannotPrintError` for a stock with wrong measurements or a start that is not on the
    page, `qr.TooSmallError` for a label that the QR has no room on.
    """
    numbers = (copies if isinstance(copies, int) else copies.get(tag.code, 1) for tag in tags)
    return make_order(Order(tuple(tags), tuple(numbers), stock, start, offset, scale))


@contextmanager
def _keeping_all() -> Iterator[None]:
    """Without Python's search for what nobody needs: all of a sheet is needed until it is written.

    It went through the boxes of all pages again and again, which took a twentieth of the time.
    """
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


@_keeping_all()
def make_order(order: Order, reached: Callable[[float], None] = lambda share: None) -> Sheet:
    """The sheet of an order; `reached` is told which share of it is done. Raises as `make` does."""
    stock = order.stock
    _refuse_faults(stock)
    if not 1 <= order.start <= stock.labels_a_page:
        raise CannotPrintError(
            Sentence(
                "A page has the labels 1 to %(last)d: it can't start at %(start)d.",
                last=stock.labels_a_page,
                start=order.start,
            )
        )
    problems = _off_the_page(order)
    drawings: list[layout.Drawing] = []
    for i, (tag, number) in enumerate(zip(order.tags, order.copies, strict=True)):
        reached(LAID_OUT * i / len(order.tags))
        drawing = layout.draw(tag, stock)
        problems += [(tag.code, sentence) for sentence in drawing.problems]
        drawings += [drawing] * number
    if not drawings:
        raise CannotPrintError(Sentence("There are no tags to print."))
    pages = impose(drawings, stock, order.start - 1, order.offset, order.scale)
    made = pdf.render(
        pages,
        stock.page_width,
        stock.page_height,
        pitch=stock.pitch_y * order.scale,
        scale=order.scale,
        title=stock.name,
        reached=lambda share: reached(LAID_OUT + (WRITTEN - LAID_OUT) * share),
    )
    return Sheet(made, len(pages), problems)


def make_test_sheet(
    stock: LabelStock,
    *,
    offset: tuple[float, float] = (0.0, 0.0),
    scale: float = 1.0,
    say: Callable[[Sentence], str] = str,
) -> Sheet:
    """One page to lay over a real sheet of labels, with crosses and rulers to measure with.

    Printed with the offset and scale in use, so that it shows whether they are right; `say` puts
    its sentences into another language. Raises `CannotPrintError` for a stock with wrong
    measurements.
    """
    _refuse_faults(stock)
    drawn = testsheet.svg(stock, offset, scale, say)
    width, height = stock.page_width, stock.page_height
    made = pdf.write([drawn], width, height, title=f"Test: {stock.name}", foot=height)
    return Sheet(made, 1, [])


def _refuse_faults(stock: LabelStock) -> None:
    if faults := check_stock(stock):
        raise CannotPrintError(faults[0])


def impose(
    drawings: Sequence[layout.Drawing],
    stock: LabelStock,
    skipped: int = 0,
    offset: tuple[float, float] = (0.0, 0.0),
    scale: float = 1.0,
) -> list[list[pdf.Placed]]:
    pages: list[list[pdf.Placed]] = [
        [] for _ in range(-(-(skipped + len(drawings)) // stock.labels_a_page))
    ]
    for number, drawing in enumerate(drawings, skipped):
        page, position = divmod(number, stock.labels_a_page)
        x, y = place(stock, position)
        for i in range(stock.faces):
            left = x + i * stock.face_width
            placed = pdf.Placed(
                drawing,
                left * scale + offset[0],
                y * scale + offset[1],
                row=position // stock.columns,
            )
            pages[page].append(placed)
    return pages
