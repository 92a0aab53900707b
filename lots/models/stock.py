"""Stock plants: the plants kept to cut from."""

from typing import Self

from django.apps import apps
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q, Value
from django.db.models.functions import Replace, Upper
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots import codes
from lots.models.catalogue import Variety
from lots.models.days import check_day
from lots.models.known import Known, alike_in_no_capitals
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


class StockPlant(Known):
    """A plant kept to cut from; one that came from a pot of an own lot makes a generation.

    It is of that lot's variety. Its code is none of a lot, in whatever hand: both are found under
    `/T/`. No constraint reaches over two tables, so `clean`, the import and the audit hold it.
    """

    KNOWN_BY = "code"

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
    since = models.DateField(_("since"), default=timezone.localdate, validators=[check_day])
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

    plants = models.PositiveSmallIntegerField(
        _("plants under this code"),
        default=1,
        validators=[MinValueValidator(1)],
        help_text=_("How many stand there; each gives so many pieces."),
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["code"]
        verbose_name = _("stock plant")
        verbose_name_plural = _("stock plants")
        constraints = [
            alike_in_no_capitals("stockplant", "code"),
            models.CheckConstraint(condition=Q(health__in=Health.values), name="stock_health"),
            models.CheckConstraint(
                condition=Q(plants__gte=1),
                name="stock_plants",
                violation_error_message=_("At least 1 plant stands under a code."),
            ),
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
        return codes.show(self.code)

    @classmethod
    def read_as(cls, code: str) -> Self | None:
        """The stock plant whose code reads as this lot code, from whatever hand."""
        read = Upper(F("code"))
        for written, meant in codes.FROM_ANY_HAND.items():
            read = Replace(read, Value(chr(written)), Value(meant or ""))
        like = cls.objects.alias(read=read).filter(read__contains=code)
        return next((plant for plant in like if codes.read_or_none(plant.code) == code), None)

    def clean(self) -> None:
        """Refuse a code, a variety or a lot that can't be; what stands in the book already is the
        audit's to tell, and no reason to refuse that the plant is quarantined."""
        names = ("code", "variety_id", "from_lot_id")
        stood = StockPlant.objects.filter(pk=self.pk).values(*names).first() or {}
        new = {name for name in names if getattr(self, name) != stood.get(name)}
        wrong: dict[str, str] = {}
        if "code" in new and (says := self._why_not_this_code()):
            wrong["code"] = says
        if new & {"variety_id", "from_lot_id"} and self.variety_id:
            wrong |= self._why_not_from_this_lot()
        if "variety_id" in new and self.pk and "variety" not in wrong:
            wrong |= self._why_not_of_this_variety()
        if wrong:
            raise ValidationError(wrong)

    def _why_not_this_code(self) -> str | None:
        code = codes.read_or_none(self.code)
        if code is None or not apps.get_model("lots", "Lot").objects.filter(code=code).exists():
            return None
        return gettext(
            "%(code)s is a lot's code, and a scan would open the lot; choose another."
        ) % {"code": codes.show(code)}

    def _why_not_from_this_lot(self) -> dict[str, str]:
        lot = self.from_lot
        if lot is None:
            return {}
        if not lot.is_stuck:
            says = gettext("%(lot)s is not stuck; no plant can come from it.")
            return {"from_lot": says % {"lot": lot}}
        if lot.variety_id != self.variety_id:
            says = gettext("It comes from lot %(lot)s, so it is of that lot's variety, %(its)s.")
            return {"variety": says % {"lot": lot, "its": lot.variety}}
        return {}

    def _why_not_of_this_variety(self) -> dict[str, str]:
        cut = (
            self.cuts.exclude(lot__variety=self.variety_id)
            .exclude(lot__stage="not stuck")
            .select_related("lot__variety")
            .first()
        )
        if cut is None:
            return {}
        says = gettext(
            "%(lot)s was cut from it as %(its)s. If that is wrong, correct the lot first."
        )
        return {"variety": says % {"lot": cut.lot, "its": cut.lot.variety}}

    @property
    def gives(self) -> int | None:
        """Pieces that all plants of this code give at one cut; None where the book doesn't say."""
        return self.pieces_per_cut and self.pieces_per_cut * self.plants

    @property
    def may_be_cut(self) -> bool:
        return self.health in (Health.SOUND, Health.WATCH)
