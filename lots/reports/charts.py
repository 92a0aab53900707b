"""Charts as SVG, drawn on the server by Vega-Lite: no script on the page, nothing inline that the
content policy forbids, and sharp on paper. Every chart stands beside a table of the same numbers.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import vl_convert
from django.utils.safestring import SafeString, mark_safe

INK, LEAF, PALE, RUST, LINE = "#171a15", "#0d5230", "#b9d3bf", "#842a0c", "#b9bdb1"
FONT = "Book, Verdana, sans-serif"
CONFIG = {
    "aria": False,  # the figure around it says in words what it shows
    "background": None,
    "font": FONT,
    "view": {"stroke": None},
    "axis": {
        "labelColor": INK,
        "titleColor": INK,
        "labelFontSize": 13,
        "titleFontSize": 13,
        "titleFontWeight": "normal",
        "gridColor": LINE,
        "domainColor": INK,
        "tickColor": INK,
    },
}


NARROW = 288  # px: what a phone of 320 px has between its margins


@dataclass(frozen=True)
class Chart:
    """One chart twice, for desk and paper and for a phone; the stylesheet shows one of them."""

    wide: SafeString
    narrow: SafeString


def weeks(rows: Iterable[tuple[str, float, float, float]], title: str) -> Chart:
    """Bars by week with a band: rows of label, expected, low and high."""
    data = [dict(zip(("week", "mean", "low", "high"), row, strict=True)) for row in rows]
    axis = {"title": None, "labelOverlap": True}
    spec = {
        "height": 200,
        "data": {"values": data},
        "encoding": {"x": {"field": "week", "type": "ordinal", "sort": None, "axis": axis}},
        "layer": [
            {
                "mark": {"type": "bar", "color": PALE, "stroke": LEAF},
                "encoding": {"y": {"field": "mean", "type": "quantitative", "title": title}},
            },
            {
                "mark": {"type": "rule", "color": INK, "strokeWidth": 2},
                "encoding": {
                    "y": {"field": "low", "type": "quantitative"},
                    "y2": {"field": "high"},
                },
            },
        ],
    }
    return Chart(_draw(spec | {"width": 640}), _draw(spec | _fit(NARROW)))


def intervals(
    rows: Iterable[tuple[str, float, float, float]],
    title: str,
    *,
    percent: bool = False,
    mark_at: float | None = None,
) -> Chart:
    """A point with its interval on each line: rows of label, value, low and high. `mark_at` draws
    a dashed line to hold them against."""
    data = [dict(zip(("label", "value", "low", "high"), row, strict=True)) for row in rows]
    axis = {"title": title, "labelOverlap": True, "labelFlush": False}
    axis |= {"format": ".0%"} if percent else {}
    scale = {"domain": [0, 1]} if percent else {"zero": False}
    x = {"type": "quantitative", "axis": axis, "scale": scale}

    def drawn(label_axis: dict, size: dict) -> SafeString:
        label = {"field": "label", "type": "ordinal", "sort": None}
        label["axis"] = {"title": None, "grid": True} | label_axis
        layer: list[dict] = [
            {
                "mark": {"type": "rule", "color": LEAF, "strokeWidth": 3},
                "encoding": {"y": label, "x": x | {"field": "low"}, "x2": {"field": "high"}},
            },
            {
                "mark": {"type": "point", "filled": True, "size": 90, "color": INK},
                "encoding": {"y": label, "x": x | {"field": "value"}},
            },
        ]
        if mark_at is not None:
            rule = {"type": "rule", "color": RUST, "strokeDash": [6, 4]}
            layer.append({"mark": rule, "encoding": {"x": {"datum": mark_at}}})
        return _draw(size | {"data": {"values": data}, "layer": layer})

    beside = {"labelLimit": 260}
    above = {"labelAlign": "left", "labelPadding": 0, "labelOffset": -16, "labelLimit": NARROW}
    above |= {"ticks": False, "domain": False}
    return Chart(
        drawn(beside, {"width": 420, "height": {"step": 34}}),
        drawn(above, _fit(NARROW) | {"height": {"step": 42}}),
    )


def _fit(width: int) -> dict:
    """So wide with all its axes."""
    return {"width": width, "autosize": {"type": "fit-x", "contains": "padding"}}


def _draw(spec: dict) -> SafeString:
    return _svg(json.dumps(spec | {"config": CONFIG}))


@lru_cache(maxsize=256)
def _svg(spec: str) -> SafeString:
    # Vega escapes what the labels say; the rest of the specification is ours.
    return mark_safe(vl_convert.vegalite_to_svg(spec))  # noqa: S308
