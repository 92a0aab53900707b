"""Where things stand: places on the benches, in walking order, and the flats on them."""

import re

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.known import Known, alike_in_no_capitals

# What parts the name of a place.
PARTS = re.compile(r"[-\s/.,]+")


def house_of(name: str) -> str:
    """The house of a place named like `B-2-07` or `house 3 12`: the first part of its name."""
    return PARTS.split(name.strip())[0]


class Place(Known):
    """A bench position, with its order in the walking round."""

    name = models.CharField(_("place"), max_length=40, unique=True)
    walk_order = models.PositiveIntegerField(
        _("walking order"), default=0, help_text=_("The round goes from low numbers to high.")
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["walk_order", "name"]
        verbose_name = _("place")
        verbose_name_plural = _("places")
        indexes = [models.Index(fields=["walk_order", "name"], name="place_walk")]
        constraints = [alike_in_no_capitals("place")]

    def __str__(self) -> str:
        return self.name

    @property
    def bench(self) -> str:
        """The bench of a place named like `1-04` or `North 04`: all but the last part."""
        head, mark, _tail = self.name.replace(" ", "-").rpartition("-")
        return self.name[: len(head)] if mark else self.name


def by_bench() -> dict[str, list[Place]]:
    """The places of each bench, in walking order."""
    found: dict[str, list[Place]] = {}
    for place in Place.objects.all():
        found.setdefault(place.bench, []).append(place)
    return found


class Flat(Known):
    """A tray; several lots can share one."""

    KNOWN_BY = "code"

    code = models.CharField(_("flat"), max_length=20, unique=True)

    class Meta:
        ordering = ["code"]
        verbose_name = _("flat")
        verbose_name_plural = _("flats")
        constraints = [alike_in_no_capitals("flat", "code")]

    def __str__(self) -> str:
        return self.code
