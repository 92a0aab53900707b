"""Photos that hang on records, and on varieties."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from lots.models.catalogue import Variety
from lots.models.lot import Lot


class Photo(models.Model):
    """A picture that hangs on a record (by its `uuid`) of a lot, or on a variety: how it looks
    when it is grown, of whatever lot."""

    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="photos")
    record = models.UUIDField(null=True)
    variety = models.ForeignKey(Variety, models.CASCADE, null=True, related_name="photos")
    image = models.ImageField(upload_to="%Y/%m")
    taken_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-pk"]
        verbose_name = _("photo")
        verbose_name_plural = _("photos")
        indexes = [models.Index(fields=["lot", "-taken_at"], name="photo_of_lot")]
        constraints = [
            models.CheckConstraint(
                condition=Q(lot__isnull=False, record__isnull=False, variety__isnull=True)
                | Q(lot__isnull=True, record__isnull=True, variety__isnull=False),
                name="photo_hangs_on_one_thing",
            )
        ]

    def __str__(self) -> str:
        return self.image.name

    @property
    def of(self) -> Variety:
        """The variety that it shows."""
        return self.variety or self.lot.variety
