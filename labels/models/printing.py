"""What was printed: sheets, and whose tags stand on them."""

import uuid as uuidlib

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from labels import order
from labels.models.stocks import Printer
from lots.models import Lot, StockPlant


class Printing(models.Model):
    """A sheet that somebody made: who, when, and all that is on it, so that it can be made again.

    `uuid` is made by the form, so that a form sent twice is one print.
    """

    uuid = models.UUIDField(unique=True, default=uuidlib.uuid4)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", verbose_name=_("by")
    )
    at = models.DateTimeField(_("printed at"), default=timezone.now)
    heading = models.CharField(_("what"), max_length=120)
    stock_name = models.CharField(_("label stock"), max_length=80)
    printer = models.ForeignKey(
        Printer, models.SET_NULL, null=True, related_name="+", verbose_name=_("printer")
    )
    sheet = models.JSONField(_("sheet"))

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name = _("print")
        verbose_name_plural = _("prints")

    def __str__(self) -> str:
        return self.heading

    def order(self) -> order.Order:
        return order.from_json(self.sheet)


class PrintedTag(models.Model):
    """The tag of a lot or of a stock plant on a printed sheet, and how often it stands there."""

    class Kind(models.TextChoices):
        LOT = "lot", _("tag of the lot")
        POT = "pot", _("pot tag")
        STOCK = "stock", _("tag of the stock plant")

    printing = models.ForeignKey(Printing, models.CASCADE, related_name="tags")
    kind = models.CharField(_("kind"), max_length=5, choices=Kind)
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    stock_plant = models.ForeignKey(StockPlant, models.PROTECT, null=True, related_name="+")
    copies = models.PositiveSmallIntegerField(_("copies"))

    class Meta:
        verbose_name = _("printed tag")
        verbose_name_plural = _("printed tags")
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["lot", "pot"], lot__isnull=False, stock_plant__isnull=True)
                | Q(kind="stock", lot__isnull=True, stock_plant__isnull=False),
                name="printed_tag_of_one",
            ),
            models.CheckConstraint(condition=Q(copies__gte=1), name="printed_tag_copies"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.lot or self.stock_plant}"
