"""A kind of record that the book doesn't have, declared as DEVELOPERS.md says: feeding a lot."""

from django.core.validators import MinValueValidator
from django.db import models

from lots.models import RECORDS, PotSize, Record
from lots.models.kinds import Carried


class Feeding(Record):
    """A lot was fed."""

    KIND, FILE = "feeding", "feedings"
    CARRIES = (
        Carried("feed", column="what"),
        Carried("grams", key="g"),
        Carried("pot_size"),
        Carried("note"),
    )
    OFFERED_IN = ("stuck", "struck", "growing")

    feed = models.CharField("feed", max_length=20, choices=[("balanced", "balanced")])
    grams = models.PositiveIntegerField("grams", validators=[MinValueValidator(1)])
    pot_size = models.ForeignKey(PotSize, models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField("note", max_length=300, blank=True)

    class Meta(Record.Meta):
        verbose_name = "feeding"
        verbose_name_plural = "feedings"


RECORDS[Feeding.KIND] = Feeding
