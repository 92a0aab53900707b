"""Template words of the book: names, codes, weeks."""

from datetime import date
from functools import lru_cache

from django import template
from django.db.models import Model
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext as _

from lots import codes, names
from lots.catalogue.changes import changes
from lots.catalogue.drawings import DRAWINGS, Drawing
from lots.catalogue.words import WORDS
from lots.forecast.handbook import Range
from lots.models import Lot, Method, SourcePart, Variety

register = template.Library()


@register.filter
def plant(variety: Variety):
    """A variety's name with its italics."""
    return _set(variety.name_runs)


@lru_cache(maxsize=4096)
def _set(name: names.Runs):
    # A list shows the same few names on row after row.
    return format_html_join(
        "", "{}", ((format_html("<i>{}</i>", text) if italic else text,) for text, italic in name)
    )


@register.filter
def grouped(code: str) -> str:
    """A lot code as people read it out."""
    return codes.show(code)


@register.filter
def where(lot: Lot, more: str = "") -> str:
    """The place of a lot, or the two of one whose pots left its cells; with its flat, where
    `more` asks for that."""
    first, *others = lot.parts
    place = first.place or (_("no place") if others else "")
    flat = lot.flat if more == "flat" and lot.in_flat else ""
    here = format_html('<span class="nowrap">{}</span>', f"{place} {flat}".strip())
    if not others:
        return here if place or flat else ""
    there = format_html('<span class="nowrap">{}</span>', others[0].place)
    return format_html(_("{cells} (cells), {pots} (pots)"), cells=here, pots=there)


@register.filter
def whole(text: object) -> str:
    """A place, a flat or a plant's code, which no line's end may break."""
    return format_html('<span class="nowrap">{}</span>', text) if text else ""


@register.filter
def week(day: date | None) -> str:
    """The ISO 8601 week of a day, to stand beside it: `week 46`, and with its year where that
    isn't the day's own."""
    if day is None:
        return ""
    year, number, _day = day.isocalendar()
    words = {"number": number, "year": year}
    return (_("week %(number)s") if year == day.year else _("week %(number)s of %(year)s")) % words


@register.filter
def week_number(day: date) -> str:
    """The same for the head of a column or a bar of a chart: `W46`, with the year when it isn't
    this one."""
    year, number, _day = day.isocalendar()
    this_year = timezone.localdate().isocalendar().year
    return f"W{number:02}" if year == this_year else f"{year}-W{number:02}"


@register.filter
def part(value: str) -> str:
    """A source part in words."""
    return SourcePart(value).label


@register.filter
def of_100(share: Range) -> str:
    """A range of shares, as 60–95 of 100."""
    return f"{share.low:.0%}–{share.high:.0%}".replace("%", "")


@register.inclusion_tag("history.html")
def history(row: Model):
    """What was changed on a row, by whom and when."""
    return {"changes": changes(row)}


@register.inclusion_tag("catalogue/explain.html")
def explain(key: str):
    """A word of the book's own, explained where it stands by a tap."""
    title, says = WORDS[key]
    return {"title": title, "says": says}


@register.filter
def drawing(method: Method) -> Drawing | None:
    """How a method's way of cutting is drawn; None for one that the handbook does not know."""
    return DRAWINGS.get(method.cut_like)


@register.filter
def signed(number: int) -> str:
    """A whole number with its sign: `+3`, `−2`."""
    return f"{number:+d}".replace("-", "−")
