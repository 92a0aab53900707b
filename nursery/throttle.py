"""The wait after wrong passwords: a quarter of an hour, by name and address, by address, by name
and in all.

A device on which the person has signed in before is counted by itself, so that no stranger can keep
anybody out by trying their name. A table and two signals of Django's own; `NurseryConfig` connects
them.
"""

from contextlib import suppress
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network

from django.core.exceptions import PermissionDenied
from django.db.models import F, Q, QuerySet, Sum
from django.http import HttpRequest
from django.utils import timezone

from nursery import known_devices
from nursery.models import Person, WrongPasswords

MOST_TRIES = 5  # of one name from one address, or from a device that knows the person
MOST_OF_ADDRESS, MOST_OF_NAME, MOST_IN_ALL = 30, 30, 300
WAIT = timedelta(minutes=15)
DEVICE = "device "  # begins the place of a try from a device that is known


class Waiting:
    """A backend that refuses whoever has to wait, whatever the password; stands before the others.
    It knows nobody, so it has none of a backend's other methods."""

    def authenticate(self, request: HttpRequest | None, username: str = "", **_given: object):
        if request and has_to_wait(request, username):
            raise PermissionDenied


def has_to_wait(request: HttpRequest, username: str) -> bool:
    """Whether too much was tried: of this name from here, or of it or from here or in all by
    devices that nobody has signed in on."""
    place = _place(request, username)
    here = Q(username=_short(username), address=place)
    if _recent().filter(here, tries__gte=MOST_TRIES).exists():
        return True
    if place.startswith(DEVICE):
        return False
    tries = _by_strangers().aggregate(
        address=Sum("tries", filter=Q(address=place)),
        name=Sum("tries", filter=Q(username=_short(username))),
        all=Sum("tries"),
    )
    most = {"address": MOST_OF_ADDRESS, "name": MOST_OF_NAME, "all": MOST_IN_ALL}
    return any((tries[of] or 0) >= number for of, number in most.items())


def forget(username: str) -> None:
    """End the wait of a name from wherever it was tried."""
    WrongPasswords.objects.filter(username=_short(username)).delete()


def note(credentials: dict, request: HttpRequest | None = None, **_more: object) -> None:
    """Count a try that failed. What is over is cleared away, and when there are too many in all no
    more are written down: a flood of made-up names fills no disk."""
    if request is None:
        return
    WrongPasswords.objects.filter(last__lte=_since()).delete()
    username = str(credentials.get("username") or "")
    place = _place(request, username)
    if not place.startswith(DEVICE):
        so_far = _by_strangers().aggregate(all=Sum("tries"))["all"] or 0
        if so_far >= MOST_IN_ALL:
            return
    row, _new = WrongPasswords.objects.get_or_create(username=_short(username), address=place)
    row.tries = F("tries") + 1
    row.save()


def signed_in(request: HttpRequest, user: Person, **_more: object) -> None:
    """Forget what was tried before from where somebody has signed in now."""
    WrongPasswords.objects.filter(
        username=_short(user.username), address__in=(_address(request), _device(request))
    ).delete()


def _recent() -> QuerySet[WrongPasswords]:
    return WrongPasswords.objects.filter(last__gt=_since())


def _by_strangers() -> QuerySet[WrongPasswords]:
    return _recent().exclude(address__startswith=DEVICE)


def _place(request: HttpRequest, username: str) -> str:
    """Whence a name is tried: a device that knows it, else an address."""
    known = known_devices.knows(request, username)
    return _device(request) if known else _address(request)


def _device(request: HttpRequest) -> str:
    return DEVICE + known_devices.of(request)[:32]


def _address(request: HttpRequest) -> str:
    """That of the connection itself: what a header says of it anybody can make up. Of IPv6 the
    network, since a single machine has all the addresses of its own."""
    address = request.META.get("REMOTE_ADDR", "")
    with suppress(ValueError):
        if isinstance(ip_address(address), IPv6Address):
            return str(ip_network((address, 64), strict=False))
    return address


def _short(username: object) -> str:
    return str(username or "").casefold()[: WrongPasswords.NAME_LENGTH]


def _since() -> datetime:
    return timezone.now() - WAIT
