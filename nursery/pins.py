"""Changing who is at a device by initials and a short PIN, for logging at the bench.

Only on a device that knows the person, five wrong PINs and it knows them no more; and whoever came
in by PIN is no manager meanwhile, whatever else they are.
"""

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.hashers import check_password
from django.db.models import F, QuerySet
from django.http import HttpRequest

from nursery import known_devices
from nursery.models import KnownDevice, Person

MOST_WRONG = 5
BACKEND = "nursery.pins.ByPin"


class ByPin(ModelBackend):
    """Of whom it is known that they came in by PIN. It lets nobody in by itself."""

    def authenticate(self, request: HttpRequest | None, **_given: object) -> None:
        return None

    def get_user(self, user_id: int) -> Person | None:
        somebody = super().get_user(user_id)
        if somebody:
            somebody.by_pin = True
        return somebody


def people(request: HttpRequest) -> QuerySet[KnownDevice]:
    """Who can change to themselves on this device."""
    device = known_devices.of(request)
    if not device:
        return KnownDevice.objects.none()
    return (
        KnownDevice.objects.filter(device=device, person__is_active=True)
        .exclude(person__pin="")
        .select_related("person")
        .order_by("person__initials", "person__name")
    )


def let_in(known: KnownDevice, pin: str) -> bool:
    """Whether it is the PIN. A wrong one counts before it is looked at, so that trying many at once
    gains nothing; after five the device knows the person no more."""
    rows = KnownDevice.objects.filter(pk=known.pk, wrong_pins__lt=MOST_WRONG)
    if not rows.update(wrong_pins=F("wrong_pins") + 1):
        known.delete()
        return False
    if check_password(pin, known.person.pin):
        KnownDevice.objects.filter(pk=known.pk).update(wrong_pins=0)
        return True
    KnownDevice.objects.filter(pk=known.pk, wrong_pins__gte=MOST_WRONG).delete()
    return False
