"""The wait after wrong passwords: five for one name from one address, and a quarter of an hour.

A table and two signals of Django's own. `NurseryConfig` connects them.
"""

from datetime import datetime, timedelta

from django.core.exceptions import PermissionDenied
from django.db.models import F
from django.http import HttpRequest
from django.utils import timezone

from nursery.models import Person, WrongPasswords

MOST_TRIES = 5
WAIT = timedelta(minutes=15)


class Waiting:
    """A backend that refuses whoever has to wait, whatever the password; stands before the others.
    It knows nobody, so it has none of a backend's other methods."""

    def authenticate(self, request: HttpRequest | None, username: str = "", **_given: object):
        if request and has_to_wait(request, username):
            raise PermissionDenied


def has_to_wait(request: HttpRequest, username: str) -> bool:
    """Whether this name has been tried too often from this address."""
    return _tries(request, username).filter(tries__gte=MOST_TRIES, last__gt=_since()).exists()


def forget(username: str) -> None:
    """End the wait of a name from wherever it was tried."""
    WrongPasswords.objects.filter(username=username).delete()


def note(credentials: dict, request: HttpRequest | None = None, **_more: object) -> None:
    """Count a try that failed. What is over is cleared away, so that a flood of made-up names
    fills no disk for long."""
    if request is None:
        return
    WrongPasswords.objects.filter(last__lte=_since()).delete()
    row, _new = WrongPasswords.objects.get_or_create(
        username=_short(credentials.get("username")), address=_address(request)
    )
    row.tries = F("tries") + 1
    row.save()


def signed_in(request: HttpRequest, user: Person, **_more: object) -> None:
    """Forget what was tried before from where somebody has signed in now."""
    _tries(request, user.username).delete()


def _tries(request: HttpRequest, username: str):
    return WrongPasswords.objects.filter(username=_short(username), address=_address(request))


def _address(request: HttpRequest) -> str:
    """That of the connection itself: what a header says of it anybody can make up."""
    return request.META.get("REMOTE_ADDR", "")


def _short(username: object) -> str:
    return str(username or "")[: WrongPasswords.NAME_LENGTH]


def _since() -> datetime:
    return timezone.now() - WAIT
