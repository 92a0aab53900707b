"""Sticking sessions: the sittings in which lots are cut and stuck."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.days import check_day
from lots.models.known import Known, alike_in_no_capitals


class StickingSession(Known):
    """A sitting in which lots are cut and stuck: planned first, tags printed, then stuck."""

    KNOWN_BY = "code"

    code = models.CharField(_("session"), max_length=20, unique=True)
    day = models.DateField(_("day"), db_index=True, validators=[check_day])
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
        constraints = [alike_in_no_capitals("session", "code")]

    def __str__(self) -> str:
        return self.code

    @property
    def own_name(self) -> str:
        """Its code where that says more than the day it stands beside."""
        return "" if self.code == self.day.isoformat() else self.code
