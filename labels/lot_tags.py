"""What the tags of lots say, and the address that they carry."""

from collections.abc import Iterable
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext as _

from labels.tag import Tag
from lots.models import Lot

LOOPBACK = ("localhost", "127.0.0.1", "::1", "testserver")


def base_address(request: HttpRequest | None = None) -> str:
    """The base of the addresses on tags: NURSERY_ADDRESS, or what this network knows us by."""
    if settings.NURSERY_ADDRESS:
        return settings.NURSERY_ADDRESS
    if request is None:
        return settings.LAN_ADDRESS
    here = urlsplit(request.build_absolute_uri("/"))
    if here.hostname in LOOPBACK:
        found = urlsplit(settings.LAN_ADDRESS)
        port = here.port or (443 if here.scheme == "https" else 80)
        return f"{here.scheme}://{found.hostname}:{port}"
    return f"{here.scheme}://{here.netloc}"


def tags_of(lots: Iterable[Lot], base: str) -> list[Tag]:
    """A tag for each lot, in the same order."""
    return [_tag(lot, base) for lot in lots]


def _tag(lot: Lot, base: str) -> Tag:
    who = lot.stuck_by or (lot.session and lot.session.led_by)
    notices = ()
    if lot.variety.protected:
        notices = (_("Protected variety: not to be propagated without a licence."),)
    return Tag(
        name=lot.variety.name_runs,
        code=lot.code,
        address=f"{base}/T/{lot.code}",
        stuck_on=lot.stuck_on or (lot.session.day if lot.session else None),
        method=lot.method.name,
        count=f"{lot.units} × {lot.pieces_per_unit}",
        initials=who.initials if who else "",
        flat=lot.flat.code if lot.flat else "",
        notices=notices,
    )
