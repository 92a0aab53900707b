"""What was put right of a lot after it was stuck: before, after, by whom, when and why."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots.models.lot import Lot


class Correction(models.Model):
    """One field of a lot that said something else before. Those of one saving share `at`.

    `before` and `after` are as a person reads them, empty for nothing: a row that they name may be
    renamed, and what was said then stays said. The ledger writes them; they are never edited or
    deleted (`lots.models.triggers`).
    """

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="corrections", verbose_name=_("lot"))
    at = models.DateTimeField(_("when"), default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", verbose_name=_("by")
    )
    why = models.CharField(_("why"), max_length=200, blank=True)
    field = models.CharField(_("what"), max_length=20)
    before = models.TextField(_("before"), blank=True)
    after = models.TextField(_("after"), blank=True)

    class Meta:
        ordering = ["at", "pk"]
        verbose_name = _("correction")
        verbose_name_plural = _("corrections")

    def __str__(self) -> str:
        return f"{self.lot} {self.field}"

    @property
    def what(self) -> str:
        """The name of the field, as the pages have it."""
        return str(Lot._meta.get_field(self.field).verbose_name)
