"""What changed in the nursery: a new boiler, another mix. Forecasts allow a step there."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.catalogue import CropGroup
from lots.models.days import check_day


class NotedChange(models.Model):
    """A change of conditions from a day on, in one house or all, for one crop group or all."""

    day = models.DateField(_("from"), validators=[check_day])
    what = models.CharField(_("what changed"), max_length=100)
    house = models.CharField(_("house"), max_length=40, blank=True)
    group = models.ForeignKey(
        CropGroup,
        models.PROTECT,
        related_name="+",
        verbose_name=_("crop group"),
        null=True,
        blank=True,
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["-day", "-pk"]
        verbose_name = _("change")
        verbose_name_plural = _("changes")

    def __str__(self) -> str:
        return self.what
