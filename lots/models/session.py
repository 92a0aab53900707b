"""Sticking sessions: the sittings in which lots are cut and stuck."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords


class StickingSession(models.Model):
    """A sitting in which lots are cut and stuck: planned first, tags printed, then stuck."""

    code = models.CharField(_("session"), max_length=20, unique=True)
    day = models.DateField(_("day"), db_index=True)
    led_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("led by"),
    )
    disinfectant = models.CharField(_("disinfectant for the tools"), max_length=80, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-day", "-pk"]
        verbose_name = _("sticking session")
        verbose_name_plural = _("sticking sessions")

    def __str__(self) -> str:
        return self.code
