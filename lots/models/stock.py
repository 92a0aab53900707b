"""Stock plants: the plants kept to cut from."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.catalogue import Variety
from lots.models.place import Place


class Origin(models.TextChoices):
    BOUGHT = "bought", _("bought")
    GIFT = "gift", _("gift")
    OWN = "own", _("from one of our own lots")


class Health(models.TextChoices):
    SOUND = "sound", _("sound")
    WATCH = "watch", _("watch")
    QUARANTINED = "quarantined", _("quarantined")
    GONE = "gone", _("gone")


class StockPlant(models.Model):
    """A plant kept to cut from; one that came from a pot of an own lot makes a generation."""

    code = models.CharField(_("code"), max_length=20, unique=True)
    variety = models.ForeignKey(
        Variety, models.PROTECT, related_name="stock_plants", verbose_name=_("variety")
    )
    origin = models.CharField(_("origin"), max_length=10, choices=Origin, default=Origin.BOUGHT)
    from_lot = models.ForeignKey(
        "lots.Lot",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="kept_as_stock",
        verbose_name=_("from lot"),
    )
    supplier = models.CharField(_("supplier"), max_length=100, blank=True)
    since = models.DateField(_("since"), default=timezone.localdate)
    place = models.ForeignKey(
        Place, models.PROTECT, null=True, blank=True, related_name="+", verbose_name=_("place")
    )
    health = models.CharField(_("health"), max_length=12, choices=Health, default=Health.SOUND)
    pieces_per_cut = models.PositiveSmallIntegerField(
        _("pieces a cut gives"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    rest_weeks = models.PositiveSmallIntegerField(
        _("weeks of rest between cuts"), null=True, blank=True
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["code"]
        verbose_name = _("stock plant")
        verbose_name_plural = _("stock plants")
        constraints = [
            models.CheckConstraint(condition=Q(health__in=Health.values), name="stock_health"),
            models.CheckConstraint(
                condition=Q(origin__in=Origin.values)
                & (Q(from_lot__isnull=True) | Q(origin=Origin.OWN)),
                name="stock_origin",
                violation_error_message=_(
                    "Only a stock plant from one of our own lots names the lot it came from."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def may_be_cut(self) -> bool:
        return self.health in (Health.SOUND, Health.WATCH)
