"""Records that the book refused and keeps for a person to settle."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class Refusal(models.Model):
    """A record that the book could not take, kept as it was sent for a person to settle."""

    uuid = models.CharField(max_length=40, unique=True)
    lot_text = models.CharField(_("lot as sent"), max_length=40, blank=True)
    sent = models.JSONField(_("as it was sent"))
    why = models.TextField(_("why it was refused"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    received_at = models.DateTimeField(default=timezone.now)
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    settled_how = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-received_at"]
        verbose_name = _("refused record")
        verbose_name_plural = _("refused records")
        indexes = [
            models.Index(
                fields=["-received_at"], name="refusal_open", condition=Q(settled_at__isnull=True)
            )
        ]

    def __str__(self) -> str:
        return self.uuid
