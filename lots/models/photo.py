"""Photos that hang on records."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from lots.models.lot import Lot


class Photo(models.Model):
    """A picture that hangs on a record (by its `uuid`) of a lot."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="photos")
    record = models.UUIDField()
    image = models.ImageField(upload_to="%Y/%m")
    taken_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-pk"]
        verbose_name = _("photo")
        verbose_name_plural = _("photos")
        indexes = [models.Index(fields=["lot", "-taken_at"], name="photo_of_lot")]

    def __str__(self) -> str:
        return self.image.name
