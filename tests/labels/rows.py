"""Rows of the tag service's tables, and a form filled in as a browser would."""

from labels.models import LabelStock, Printer, TagSettings
from tests.pages import elements

SHEET = {
    "name": "Ours, 2 × 3",
    "unit": "mm",
    "page_width": 210,
    "page_height": 297,
    "columns": 2,
    "rows": 3,
    "label_width": 90,
    "label_height": 80,
    "left": 10,
    "top": 20,
    "pitch_x": 95,
    "pitch_y": 85,
    "padding": 2,
}
"""A stock as it is typed and as it is stored."""


def label_stock(**fields) -> LabelStock:
    return LabelStock.objects.create(**(SHEET | fields))


def printer(**fields) -> Printer:
    return Printer.objects.create(**({"name": "In the shed"} | fields))


def tag_settings(**fields) -> TagSettings:
    return TagSettings.objects.create(pk=1, **fields)


def filled(page, **typed) -> dict[str, object]:
    """What the page's posting form sends as it stands, but for what is typed."""
    fields = {}
    for field in elements(page, "main form[method=post] [name]:not(button)"):
        kind = field.get("type")
        if field.tag == "select":
            options = field.findall(".//option")
            chosen = next((one for one in options if "selected" in one.attrib), options[0])
            fields[field.get("name")] = chosen.get("value")
        elif kind not in ("checkbox", "radio") or "checked" in field.attrib:
            fields[field.get("name")] = field.get("value") or ("on" if kind == "checkbox" else "")
    return fields | typed


def once_made(client, answer):
    """The page that a print leads to, once its sheet is made: until then it tells how far it is."""
    while elements(page := client.get(answer["Location"]), "progress"):
        pass  # the page itself waits a little
    return page
