"""Label stocks: sheets and rolls described by what a ruler says, in millimetres."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from labels.sentences import Sentence

SHIPPED = Path(__file__).with_name("stocks.toml")

SLACK = 0.05
"""Millimetres by which measurements may disagree before it is a fault."""


@dataclass(frozen=True)
class LabelStock:
    """A sheet of labels, or a roll (one label a page), in millimetres.

    `left` and `top` run from the corner of the page to the corner of the first label; the pitch
    from one label's edge to the same edge of the next. `free_*` are strips of each label that
    nothing may be printed on: the pointed end of a stake, a punched hole. `padding` is the white
    kept inside the label all round. A `folded` label is folded in half, left on right, and shows
    its tag on both faces; strips and padding are then those of each face.
    """

    name: str
    page_width: float
    page_height: float
    label_width: float
    label_height: float
    columns: int = 1
    rows: int = 1
    left: float = 0.0
    top: float = 0.0
    pitch_x: float = 0.0
    pitch_y: float = 0.0
    corner: float = 0.0
    free_left: float = 0.0
    free_right: float = 0.0
    free_top: float = 0.0
    free_bottom: float = 0.0
    padding: float = 1.5
    folded: bool = False

    @property
    def labels_a_page(self) -> int:
        return self.columns * self.rows

    @property
    def faces(self) -> int:
        """How often a label shows its tag."""
        return 2 if self.folded else 1

    @property
    def face_width(self) -> float:
        return self.label_width / self.faces


@dataclass(frozen=True)
class Box:
    """A rectangle in millimetres, measured from a top left corner."""

    x: float
    y: float
    width: float
    height: float


def usable(stock: LabelStock, padding: float | None = None) -> Box:
    """The part of a label (of a folded one, of its left face) that may be printed on.

    From the label's corner; less its own padding all round, or another.
    """
    pad = stock.padding if padding is None else padding
    return Box(
        stock.free_left + pad,
        stock.free_top + pad,
        stock.face_width - stock.free_left - stock.free_right - 2 * pad,
        stock.label_height - stock.free_top - stock.free_bottom - 2 * pad,
    )


def place(stock: LabelStock, position: int) -> tuple[float, float]:
    """Where label number `position` (0 is the first) of a page has its corner; along rows first."""
    row, column = divmod(position, stock.columns)
    return stock.left + column * stock.pitch_x, stock.top + row * stock.pitch_y


def check(stock: LabelStock) -> list[Sentence]:
    """What is wrong with the measurements, each fault in a sentence with its amount."""
    return [sentence for _, sentence in faults(stock)]


def faults(stock: LabelStock) -> list[tuple[str, Sentence]]:
    """What `check` finds, each with the field where it can be put right."""
    found = [
        (
            field,
            Sentence(
                "The %(what)s must be more than 0 mm, and is %(mm)g mm.",
                what=Sentence(field.replace("_", " ")),
                mm=getattr(stock, field),
            ),
        )
        for field in ("page_width", "page_height", "label_width", "label_height")
        if getattr(stock, field) <= 0
    ]
    found += [
        (
            field,
            Sentence("There must be at least one %(what)s, and there are %(n)d.", what=what, n=n),
        )
        for field, what, n in (
            ("columns", Sentence("column"), stock.columns),
            ("rows", Sentence("row"), stock.rows),
        )
        if n < 1
    ]
    found += [
        (
            field,
            Sentence("The %(what)s can't be less than 0 mm, and is %(mm)g mm.", what=what, mm=mm),
        )
        for field, what in NOT_NEGATIVE.items()
        if (mm := getattr(stock, field)) < 0
    ]
    return found or [*_across(stock), *_down(stock), *_inside(stock)]


NOT_NEGATIVE = {
    "left": Sentence("left margin"),
    "top": Sentence("top margin"),
    "corner": Sentence("corner radius"),
    "padding": Sentence("padding"),
    "free_left": Sentence("free strip on the left"),
    "free_right": Sentence("free strip on the right"),
    "free_top": Sentence("free strip at the top"),
    "free_bottom": Sentence("free strip at the bottom"),
}


def _across(stock: LabelStock) -> Iterator[tuple[str, Sentence]]:
    over = stock.label_width - stock.pitch_x
    if stock.columns > 1 and over > SLACK:
        yield (
            "pitch_x",
            Sentence(
                "The columns overlap by %(over).2f mm: from one to the next is %(pitch)g mm, and "
                "the label width is %(label)g mm.",
                over=over,
                pitch=stock.pitch_x,
                label=stock.label_width,
            ),
        )
    end = place(stock, stock.columns - 1)[0] + stock.label_width
    if end - stock.page_width > SLACK:
        yield (
            "columns",
            Sentence(
                "The last column leaves the page at the right by %(over).2f mm: it ends at %(end)g "
                "mm, and the page width is %(page)g mm.",
                over=end - stock.page_width,
                end=end,
                page=stock.page_width,
            ),
        )


def _down(stock: LabelStock) -> Iterator[tuple[str, Sentence]]:
    over = stock.label_height - stock.pitch_y
    if stock.rows > 1 and over > SLACK:
        yield (
            "pitch_y",
            Sentence(
                "The rows overlap by %(over).2f mm: from one to the next is %(pitch)g mm, and the "
                "label height is %(label)g mm.",
                over=over,
                pitch=stock.pitch_y,
                label=stock.label_height,
            ),
        )
    end = place(stock, stock.labels_a_page - 1)[1] + stock.label_height
    if end - stock.page_height > SLACK:
        yield (
            "rows",
            Sentence(
                "The last row leaves the page at the bottom by %(over).2f mm: it ends at %(end)g "
                "mm, and the page height is %(page)g mm.",
                over=end - stock.page_height,
                end=end,
                page=stock.page_height,
            ),
        )


def _inside(stock: LabelStock) -> Iterator[tuple[str, Sentence]]:
    """Faults inside one label."""
    most = min(stock.label_width, stock.label_height) / 2
    if stock.corner - most > SLACK:
        yield (
            "corner",
            Sentence(
                "The corner radius is %(over).2f mm too large: %(corner)g mm, and half the label's "
                "shorter side is %(most)g mm.",
                over=stock.corner - most,
                corner=stock.corner,
                most=most,
            ),
        )
    box = usable(stock)
    if box.width <= 0:
        yield (
            "label_width",
            Sentence(
                "The padding and the strips kept free take %(over).2f mm more than the "
                "label's width.",
                over=-box.width,
            ),
        )
    if box.height <= 0:
        yield (
            "label_height",
            Sentence(
                "The padding and the strips kept free take %(over).2f mm more than the "
                "label's height.",
                over=-box.height,
            ),
        )


@cache
def shipped() -> dict[str, LabelStock]:
    """The stocks that come with the project, by name."""
    with SHIPPED.open("rb") as file:
        rows = tomllib.load(file)["stock"]
    return {row["name"]: LabelStock(**row) for row in rows}
