"""Label stocks: sheets and rolls described by what a ruler says, in millimetres."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

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


class Unit(NamedTuple):
    """What lengths are told in: its sign, its size in mm, and the decimals of a small amount."""

    sign: str
    mm: float
    decimals: int

    def amount(self, mm: float) -> str:
        """How much something is off."""
        return f"{mm / self.mm:.{self.decimals}f} {self.sign}"

    def measure(self, mm: float) -> str:
        """A length as it is typed."""
        return f"{mm / self.mm:.5g} {self.sign}"


MM = Unit("mm", 1.0, 2)
INCH = Unit("in", 25.4, 3)


def check(stock: LabelStock) -> list[Sentence]:
    """What is wrong with the measurements, each fault in a sentence with its amount."""
    return [sentence for _, sentence in faults(stock)]


def faults(stock: LabelStock, unit: Unit = MM) -> list[tuple[str, Sentence]]:
    """What `check` finds, each with the field where it can be put right, in a unit of length."""
    found = [
        (
            field,
            Sentence(
                "The %(what)s must be more than 0, and is %(is_now)s.",
                what=Sentence(field.replace("_", " ")),
                is_now=unit.measure(getattr(stock, field)),
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
            Sentence(
                "The %(what)s can't be less than 0, and is %(is_now)s.",
                what=what,
                is_now=unit.measure(mm),
            ),
        )
        for field, what in NOT_NEGATIVE.items()
        if (mm := getattr(stock, field)) < 0
    ]
    return found or [*_across(stock, unit), *_down(stock, unit), *_inside(stock, unit)]


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


def _across(stock: LabelStock, unit: Unit) -> Iterator[tuple[str, Sentence]]:
    over = stock.label_width - stock.pitch_x
    if stock.columns > 1 and over > SLACK:
        yield (
            "pitch_x",
            Sentence(
                "The columns overlap by %(over)s: from one to the next is %(pitch)s, and "
                "the label width is %(label)s.",
                over=unit.amount(over),
                pitch=unit.measure(stock.pitch_x),
                label=unit.measure(stock.label_width),
            ),
        )
    end = place(stock, stock.columns - 1)[0] + stock.label_width
    if end - stock.page_width > SLACK:
        yield (
            "columns",
            Sentence(
                "The last column leaves the page at the right by %(over)s: it ends at %(end)s, "
                "and the page width is %(page)s.",
                over=unit.amount(end - stock.page_width),
                end=unit.measure(end),
                page=unit.measure(stock.page_width),
            ),
        )


def _down(stock: LabelStock, unit: Unit) -> Iterator[tuple[str, Sentence]]:
    over = stock.label_height - stock.pitch_y
    if stock.rows > 1 and over > SLACK:
        yield (
            "pitch_y",
            Sentence(
                "The rows overlap by %(over)s: from one to the next is %(pitch)s, and the "
                "label height is %(label)s.",
                over=unit.amount(over),
                pitch=unit.measure(stock.pitch_y),
                label=unit.measure(stock.label_height),
            ),
        )
    end = place(stock, stock.labels_a_page - 1)[1] + stock.label_height
    if end - stock.page_height > SLACK:
        yield (
            "rows",
            Sentence(
                "The last row leaves the page at the bottom by %(over)s: it ends at %(end)s, "
                "and the page height is %(page)s.",
                over=unit.amount(end - stock.page_height),
                end=unit.measure(end),
                page=unit.measure(stock.page_height),
            ),
        )


def _inside(stock: LabelStock, unit: Unit) -> Iterator[tuple[str, Sentence]]:
    """Faults inside one label."""
    most = min(stock.label_width, stock.label_height) / 2
    if stock.corner - most > SLACK:
        yield (
            "corner",
            Sentence(
                "The corner radius is %(over)s too large: %(corner)s, and half the label's "
                "shorter side is %(most)s.",
                over=unit.amount(stock.corner - most),
                corner=unit.measure(stock.corner),
                most=unit.measure(most),
            ),
        )
    box = usable(stock)
    if box.width <= 0:
        yield (
            "label_width",
            Sentence(
                "The padding and the strips kept free take %(over)s more than the label's width.",
                over=unit.amount(-box.width),
            ),
        )
    if box.height <= 0:
        yield (
            "label_height",
            Sentence(
                "The padding and the strips kept free take %(over)s more than the label's height.",
                over=unit.amount(-box.height),
            ),
        )


@cache
def shipped() -> dict[str, LabelStock]:
    """The stocks that come with the project, by name."""
    with SHIPPED.open("rb") as file:
        rows = tomllib.load(file)["stock"]
    return {row["name"]: LabelStock(**row) for row in rows}
