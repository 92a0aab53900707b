"""Template words of the book: names, codes, weeks."""

from datetime import date
from functools import lru_cache

from django import template
from django.db.models import Model
from django.utils import timezone
from django.utils.html import format_html, format_html_join

from lots import codes, names
from lots.changes import changes
from lots.models import Variety

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
def week(day: date | None) -> str:
    """The ISO 8601 week of a day, as W10; with the year when it isn't this one."""
    if day is None:
        return ""
    year, number, _ = day.isocalendar()
    return (
        f"W{number:02}"
        if year == timezone.localdate().isocalendar().year
        else f"{year}-W{number:02}"
    )


@register.inclusion_tag("history.html")
def history(row: Model):
    """What was changed on a row, by whom and when."""
    return {"changes": changes(row)}
