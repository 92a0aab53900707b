"""Charts as SVG, drawn on the server: no script on the page, nothing inline that the content policy
forbids, and sharp on paper. Every chart stands beside a table of the same numbers.

Two shapes, of some lines each; a library that draws them weighs 84 MB. Colours are attributes,
since a drawing goes into PDFs, too.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

INK, LEAF, PALE, RUST, LINE = "#171a15", "#0d5230", "#b9d3bf", "#842a0c", "#b9bdb1"
SIZE = 13  # px of letters
LETTER = 0.6 * SIZE  # what one takes at most, on the average of a label
WIDE = 680  # px
NARROW = 288  # px: what a phone of 320 px has between its margins
ABOVE, BELOW, AROUND = 12, 26, 8  # px kept free above, below and beside the picture
TICKS = 5


@dataclass(frozen=True)
class Chart:
    """One chart twice, for desk and paper and for a phone; the stylesheet shows one of them."""

    wide: SafeString
    narrow: SafeString


@dataclass
class Drawing:
    """Shapes in px from the upper left: lines (x, y, x, y, colour, width), dashed ones (x, y, x,
    y), bars (x, y, width, height), points (x, y), words (x, y, anchor, text)."""

    width: int
    height: int
    lines: list[tuple[float, float, float, float, str, float]] = field(default_factory=list)
    dashed: list[tuple[float, float, float, float]] = field(default_factory=list)
    bars: list[tuple[float, float, float, float]] = field(default_factory=list)
    points: list[tuple[float, float]] = field(default_factory=list)
    words: list[tuple[float, float, str, str]] = field(default_factory=list)

    def svg(self) -> SafeString:
        colours = {"ink": INK, "leaf": LEAF, "pale": PALE, "rust": RUST}
        context = {"drawing": self, "size": SIZE, "colours": colours}
        return render_to_string("reports/drawing.html", context)


# Of a week: label, expected, and low and high where they are known.
type Week = tuple[str, float, float | None, float | None]


def weeks(rows: Iterable[Week], title: str, limits: Sequence[float | None] | None = None) -> Chart:
    """Bars by week, with a band where there is one; and dashed what a week has room for."""
    told = list(rows)
    most = limits or [None] * len(told)
    return Chart(_weeks(told, title, most, WIDE), _weeks(told, title, most, NARROW))


def _weeks(
    rows: Sequence[Week], title: str, limits: Sequence[float | None], width: int
) -> SafeString:
    highest = [part or 0 for row in rows for part in row[1:]] + [limit or 0 for limit in limits]
    ticks = _ticks(0, max(highest, default=0) or 1)
    left = AROUND + LETTER * max(len(_number(tick)) for tick in ticks) + 6
    top, bottom, right = SIZE + ABOVE, 220, width - AROUND
    drawing = Drawing(width, bottom + BELOW)
    drawing.words.append((AROUND, SIZE, "start", title))

    def y(value: float) -> float:
        return bottom - (bottom - top) * value / ticks[-1]

    for tick in ticks:
        drawing.lines.append((left, y(tick), right, y(tick), LINE, 1))
        drawing.words.append((left - 6, y(tick) + SIZE / 3, "end", _number(tick)))
    step = (right - left) / max(len(rows), 1)
    longest = max((len(label) for label, *_ in rows), default=1)
    every = math.ceil((longest + 1) * LETTER / step)  # labels that would touch are left out
    for n, (label, mean, low, high) in enumerate(rows):
        middle = left + (n + 0.5) * step
        drawing.bars.append((left + (n + 0.1) * step, y(mean), 0.8 * step, bottom - y(mean)))
        if low is not None and high is not None:
            drawing.lines.append((middle, y(low), middle, y(high), INK, 2))
        if (limit := limits[n]) is not None:
            drawing.dashed.append((left + n * step, y(limit), left + (n + 1) * step, y(limit)))
        if n % every == 0:
            drawing.words.append((middle, bottom + SIZE + 5, "middle", label))
    drawing.lines.append((left, bottom, right, bottom, INK, 1))
    return drawing.svg()


def intervals(
    rows: Iterable[tuple[str, float, float, float]],
    title: str,
    *,
    percent: bool = False,
    mark_at: float | None = None,
) -> Chart:
    """A point with its interval on each line: rows of label, value, low and high. `mark_at` draws
    a dashed line to hold them against."""
    told = list(rows)
    ticks = [0, 0.2, 0.4, 0.6, 0.8, 1.0] if percent else _around(told)
    names = [f"{tick:.0%}" if percent else _number(tick) for tick in ticks]
    drawn = (_intervals(told, title, ticks, names, mark_at, width) for width in (WIDE, NARROW))
    return Chart(*drawn)


def _intervals(
    rows: Sequence[tuple[str, float, float, float]],
    title: str,
    ticks: Sequence[float],
    names: Sequence[str],
    mark_at: float | None,
    width: int,
) -> SafeString:
    """Labels stand beside the lines where there is room, else above them."""
    beside = width == WIDE
    longest = max((len(label) for label, *_ in rows), default=0)
    most = 36 if beside else int((width - 2 * AROUND) / LETTER)
    left = AROUND + (LETTER * min(longest, most) + 10 if beside else 2 * LETTER)
    right = width - AROUND - 2 * LETTER
    step = 34 if beside else 42
    bottom = ABOVE + step * len(rows)
    drawing = Drawing(width, bottom + BELOW + SIZE + 6)

    def x(value: float) -> float:
        return left + (right - left) * (value - ticks[0]) / (ticks[-1] - ticks[0])

    for tick, name in zip(ticks, names, strict=True):
        drawing.lines.append((x(tick), ABOVE, x(tick), bottom, LINE, 1))
        drawing.words.append((x(tick), bottom + SIZE + 5, "middle", name))
    drawing.words.append(((left + right) / 2, bottom + 2 * SIZE + 10, "middle", title))
    for n, (label, value, low, high) in enumerate(rows):
        short = label if len(label) <= most else label[: most - 1] + "…"
        y = ABOVE + step * (n + (0.5 if beside else 0.7))
        if beside:
            drawing.words.append((left - 10, y + SIZE / 3, "end", short))
        else:
            drawing.words.append((AROUND, y - 12, "start", short))
        drawing.lines.append((left, y, right, y, LINE, 1))
        drawing.lines.append((x(low), y, x(high), y, LEAF, 3))
        drawing.points.append((x(value), y))
    drawing.lines.append((left, bottom, right, bottom, INK, 1))
    if mark_at is not None:
        drawing.dashed.append((x(mark_at), ABOVE, x(mark_at), bottom))
    return drawing.svg()


def _around(rows: Sequence[tuple[str, float, float, float]]) -> list[float]:
    """Ticks around all intervals."""
    low = min((low for _, _, low, _ in rows), default=0.0)
    return _ticks(low, max((high for *_, high in rows), default=1.0))


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers from at most `low` to at least `high`, some `TICKS` of them."""
    span = max(high - low, 1e-9 * max(abs(high), 1), 1e-9)
    power = 10.0 ** math.floor(math.log10(span / TICKS))
    step = next(power * part for part in (1, 2, 5, 10) if span / (power * part) <= TICKS)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(n * step, 10) for n in range(first, max(last, first + 1) + 1)]


def _number(value: float) -> str:
    return f"{value:,.10g}"
