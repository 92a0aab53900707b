"""Charts as SVG, drawn on the server by Vega-Lite: no script on the page, nothing inline that the
content policy forbids, and sharp on paper. Every chart stands beside a table of the same numbers.
"""

import json
from collections.abc import Iterable
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


def weeks(rows: Iterable[tuple[str, float, float, float]], title: str) -> SafeString:
    """Bars by week with a band: rows of label, expected, low and high."""
    data = [dict(zip(("week", "mean", "low", "high"), row, strict=True)) for row in rows]
    week = {"field": "week", "type": "ordinal", "sort": None, "axis": {"title": None}}
    return _draw(
        {
            "width": 640,
            "height": 200,
            "data": {"values": data},
            "encoding": {"x": week},
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
    )


def intervals(
    rows: Iterable[tuple[str, float, float, float]],
    title: str,
    *,
    percent: bool = False,
    mark_at: float | None = None,
) -> SafeString:
    """A point with its interval on each line: rows of label, value, low and high. `mark_at` draws
    a dashed line to hold them against."""
    data = [dict(zip(("label", "value", "low", "high"), row, strict=True)) for row in rows]
    axis = {"title": title} | ({"format": ".0%"} if percent else {})
    scale = {"domain": [0, 1]} if percent else {"zero": False}
    x = {"type": "quantitative", "axis": axis, "scale": scale}
    label = {
        "field": "label",
        "type": "ordinal",
        "sort": None,
        "axis": {"title": None, "labelLimit": 260, "grid": True},
    }
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
    spec = {"width": 420, "height": {"step": 34}, "data": {"values": data}, "layer": layer}
    return _draw(spec)


def _draw(spec: dict) -> SafeString:
    return _svg(json.dumps(spec | {"config": CONFIG}))


@lru_cache(maxsize=256)
def _svg(spec: str) -> SafeString:
    # Vega escapes what the labels say; the rest of the specification is ours.
    return mark_safe(vl_convert.vegalite_to_svg(spec))  # noqa: S308
