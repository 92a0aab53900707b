"""What is wanted: so many pots of a size by a day."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.catalogue import PotSize, Variety
from lots.models.days import check_day


class Target(models.Model):
    """Pots of one variety and size wanted by a day."""

    variety = models.ForeignKey(
        Variety, models.PROTECT, related_name="targets", verbose_name=_("variety")
    )
    pot_size = models.ForeignKey(
        PotSize, models.PROTECT, related_name="+", verbose_name=_("pot size")
    )
    pots = models.PositiveIntegerField(_("pots"), validators=[MinValueValidator(1)])
    wanted_by = models.DateField(_("wanted by"), validators=[check_day])
    for_whom = models.CharField(_("for"), max_length=100, blank=True)
    note = models.TextField(_("note"), blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["wanted_by", "pk"]
        verbose_name = _("target")
        verbose_name_plural = _("targets")
        constraints = [models.CheckConstraint(condition=Q(pots__gte=1), name="target_pots")]

    def __str__(self) -> str:
        return f"{self.pots} {self.variety} · {self.pot_size} · {self.wanted_by}"
