"""Phones and desks that somebody has signed in on before, known by a cookie of their own.

Strangers who try passwords can make others wait, but not who sits at such a device; and people
whom it knows change on it by PIN (see `nursery.pins`).
"""

import hashlib
import secrets

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from nursery.models import KnownDevice, Person

YEAR = 365 * 24 * 3600  # seconds


def cookie() -> str:
    return "__Host-device" if settings.SESSION_COOKIE_SECURE else "device"


def of(request: HttpRequest) -> str:
    """Under what the book keeps this device, or an empty string: not the key itself, which nobody
    who reads the database may learn."""
    key = request.COOKIES.get(cookie(), "")
    return _kept(key) if key else ""


def _kept(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def knows(request: HttpRequest, username: str) -> bool:
    """Whether somebody of this name has signed in on the device before."""
    device = of(request)
    return bool(device) and (
        KnownDevice.objects.filter(device=device, person__username=username).exists()
    )


def remember(request: HttpRequest, answer: HttpResponse, somebody: Person) -> None:
    """From now on the device knows somebody who has signed in on it with the password."""
    key = request.COOKIES.get(cookie(), "")
    if not KnownDevice.objects.filter(device=of(request)).exists():
        key = secrets.token_urlsafe(32)  # nor may a device bring a key of its own making
    KnownDevice.objects.update_or_create(
        person=somebody, device=_kept(key), defaults={"wrong_pins": 0}
    )
    answer.set_cookie(
        cookie(),
        key,
        max_age=YEAR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def forget(somebody: Person, *, but: str = "") -> None:
    """All devices but one know somebody no more: the next sign-in there takes the password."""
    somebody.known_devices.exclude(device=but).delete()
