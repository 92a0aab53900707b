"""Label stocks: sheets and rolls described by what a ruler says, in millimetres."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

SHIPPED = Path(__file__).with_name("stocks.toml")

SLACK = 0.05
"""Millimetres by which measurements may disagree before it is a fault."""


@dataclass(frozen=True)
class LabelStock:
    """A sheet of labels, or a roll (one label a page), in millimetres.

    `left` and `top` run from the corner of the page to the corner of the first label; the pitch
    from one label's edge to the same edge of the next. `free_*` are strips of each label that
    nothing may be printed on: the pointed end of a stake, a punched hole, the half that is folded
    over. `padding` is the white kept inside the label all round.
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

    @property
    def labels_a_page(self) -> int:
        return self.columns * self.rows


@dataclass(frozen=True)
class Box:
    """A rectangle in millimetres, measured from a top left corner."""

    x: float
    y: float
    width: float
    height: float


def usable(stock: LabelStock, padding: float | None = None) -> Box:
    """The part of a label that may be printed on, from the label's corner.

    Less its own padding all round, or another.
    """
    pad = stock.padding if padding is None else padding
    return Box(
        stock.free_left + pad,
        stock.free_top + pad,
        stock.label_width - stock.free_left - stock.free_right - 2 * pad,
        stock.label_height - stock.free_top - stock.free_bottom - 2 * pad,
    )


def place(stock: LabelStock, position: int) -> tuple[float, float]:
    """Where label number `position` (0 is the first) of a page has its corner; along rows first."""
    row, column = divmod(position, stock.columns)
    return stock.left + column * stock.pitch_x, stock.top + row * stock.pitch_y


def check(stock: LabelStock) -> list[str]:
    """What is wrong with the measurements, each fault in a sentence with its amount."""
    faults = [
        f"The {word} must be more than 0 mm, and is {value:g} mm."
        for word, value in (
            ("page width", stock.page_width),
            ("page height", stock.page_height),
            ("label width", stock.label_width),
            ("label height", stock.label_height),
        )
        if value <= 0
    ]
    faults += [
        f"There must be at least one {word}, and there are {value}."
        for word, value in (("column", stock.columns), ("row", stock.rows))
        if value < 1
    ]
    faults += [
        f"The {word} can't be less than 0 mm, and is {value:g} mm."
        for word, value in (
            ("left margin", stock.left),
            ("top margin", stock.top),
            ("corner radius", stock.corner),
            ("padding", stock.padding),
            ("free strip on the left", stock.free_left),
            ("free strip on the right", stock.free_right),
            ("free strip at the top", stock.free_top),
            ("free strip at the bottom", stock.free_bottom),
        )
        if value < 0
    ]
    if faults:
        return faults
    across = ("width", "column", "right", stock.left, stock.columns)
    down = ("height", "row", "bottom", stock.top, stock.rows)
    faults += _along(*across, stock.pitch_x, stock.label_width, stock.page_width)
    faults += _along(*down, stock.pitch_y, stock.label_height, stock.page_height)
    return faults + _inside(stock)


def _along(
    measure: str,
    line: str,
    edge: str,
    margin: float,
    count: int,
    pitch: float,
    label: float,
    page: float,
) -> list[str]:
    """Overlaps and overruns along one direction of the page."""
    faults = []
    if count > 1 and label - pitch > SLACK:
        faults.append(
            f"The {line}s overlap by {label - pitch:.2f} mm: from one to the next is {pitch:g} mm, "
            f"and the label {measure} is {label:g} mm."
        )
    end = margin + (count - 1) * (pitch if count > 1 else 0) + label
    if end - page > SLACK:
        faults.append(
            f"The last {line} leaves the page at the {edge} by {end - page:.2f} mm: it ends at "
            f"{end:g} mm, and the page {measure} is {page:g} mm."
        )
    return faults


def _inside(stock: LabelStock) -> list[str]:
    """Faults inside one label."""
    faults = []
    most = min(stock.label_width, stock.label_height) / 2
    if stock.corner - most > SLACK:
        faults.append(
            f"The corner radius is {stock.corner - most:.2f} mm too large: {stock.corner:g} mm, "
            f"and half the label's shorter side is {most:g} mm."
        )
    box = usable(stock)
    for measure, left_over in (("width", box.width), ("height", box.height)):
        if left_over <= 0:
            faults.append(
                f"The padding and the strips kept free take {-left_over:.2f} mm more than the "
                f"label's {measure}."
            )
    return faults


@cache
def shipped() -> dict[str, LabelStock]:
    """The stocks that come with the project, by name."""
    with SHIPPED.open("rb") as file:
        rows = tomllib.load(file)["stock"]
    return {row["name"]: LabelStock(**row) for row in rows}
