"""A picture of a sheet to scale: where each label is, for pages to draw."""

from dataclasses import dataclass

from labels.stock import Box, LabelStock, place, usable


@dataclass(frozen=True)
class Cell:
    """A label of the first page, in mm: its number from 1, its box, and in it the boxes that may be
    printed on, one for each face; whether it is "used" up, "printed" or "free"."""

    number: int
    label: Box
    insides: tuple[Box, ...]
    state: str

    @property
    def middle(self) -> tuple[float, float]:
        return self.label.x + self.label.width / 2, self.label.y + self.label.height / 2


@dataclass(frozen=True)
class Picture:
    stock: LabelStock
    cells: list[Cell]

    @property
    def width(self) -> float:
        """The picture's, with a millimetre of ground at each edge of the page."""
        return self.stock.page_width + 2

    @property
    def height(self) -> float:
        return self.stock.page_height + 2

    @property
    def stroke(self) -> float:
        """A line's width in mm that looks alike for a roll and a sheet."""
        return max(self.stock.page_width, self.stock.page_height) / 400

    @property
    def letters(self) -> float:
        """The height in mm of a number that fits a label."""
        return min(self.stock.label_width, self.stock.label_height) * 0.5


def picture(stock: LabelStock, start: int = 1, labels: int = 0) -> Picture:
    """The first page with `labels` printed from label `start`; those before it are used up."""
    box = usable(stock)
    wide, high = max(box.width, 0), max(box.height, 0)
    cells = []
    for position in range(stock.labels_a_page):
        number = position + 1
        x, y = place(stock, position)
        label = Box(x, y, stock.label_width, stock.label_height)
        insides = tuple(
            Box(x + box.x + i * stock.face_width, y + box.y, wide, high) for i in range(stock.faces)
        )
        state = "used" if number < start else "printed" if number < start + labels else "free"
        cells.append(Cell(number, label, insides, state))
    return Picture(stock, cells)
