"""Pieces of stock plants in words."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.models import Method


def pieces_say(method: Method, pieces: int) -> str:
    """So many pieces and, where the method says how many one gives, of how many leaves."""
    says = ngettext("%(n)s piece", "%(n)s pieces", pieces) % {"n": pieces}
    if not method.pieces_per_source:
        return says
    count = -(-pieces // method.pieces_per_source)
    if method.source_part == "leaf":
        of = ngettext("%(n)s leaf", "%(n)s leaves", count)
    else:
        of = ngettext("%(n)s shoot", "%(n)s shoots", count)
    return _("%(pieces)s (%(leaves)s)") % {"pieces": says, "leaves": of % {"n": count}}
