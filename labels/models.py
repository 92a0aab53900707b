"""The nursery's own label stocks and printers, what stands on its tags, and what was printed."""

import uuid as uuidlib

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from labels import order, stock
from lots.models import CropGroup, Lot, StockPlant

MM_AN_INCH = 25.4
SIZES = ("page_width", "page_height", "label_width", "label_height")
LENGTHS = (
    *SIZES,
    "left",
    "top",
    "pitch_x",
    "pitch_y",
    "corner",
    "free_left",
    "free_right",
    "free_top",
    "free_bottom",
    "padding",
)
"""The measurements that are lengths, in mm."""


def _length(words: str, **more) -> models.FloatField:
    least = [MinValueValidator(0), MaxValueValidator(2000)]
    return models.FloatField(words, validators=least, **{"default": 0.0} | more)


def _count(words: str, most: int) -> models.PositiveSmallIntegerField:
    within = [MinValueValidator(1), MaxValueValidator(most)]
    return models.PositiveSmallIntegerField(words, default=1, validators=within)


class Unit(models.TextChoices):
    MM = "mm", _("millimetres")
    INCH = "in", _("inches")


class LabelStock(models.Model):
    """A stock of labels of the nursery's own, by its measurements in mm (`labels.stock`).

    `unit` is what its measurements are typed and shown in.
    """

    name = models.CharField(_("name"), max_length=80, unique=True)
    unit = models.CharField(_("measured in"), max_length=2, choices=Unit, default=Unit.MM)
    page_width = _length(_("page width"), default=210.0)
    page_height = _length(_("page height"), default=297.0)
    columns = _count(_("columns"), 50)
    rows = _count(_("rows"), 100)
    label_width = _length(_("label width"), default=70.0)
    label_height = _length(_("label height"), default=37.0)
    left = _length(_("from the page's left edge to the first label"))
    top = _length(_("from the page's top edge to the first label"))
    pitch_x = _length(_("from one column to the next, left edge to left edge"), blank=True)
    pitch_y = _length(_("from one row to the next, top edge to top edge"), blank=True)
    corner = _length(_("radius of the label's corners"), blank=True)
    padding = _length(_("white kept inside the label all round"), default=1.5)
    free_left = _length(_("kept free at the left"), blank=True)
    free_right = _length(_("kept free at the right"), blank=True)
    free_top = _length(_("kept free at the top"), blank=True)
    free_bottom = _length(_("kept free at the bottom"), blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name = _("label stock")
        verbose_name_plural = _("label stocks")
        constraints = [
            models.CheckConstraint(condition=Q(unit__in=Unit.values), name="stock_unit"),
            models.CheckConstraint(
                condition=Q(columns__gte=1, rows__gte=1, **{f"{size}__gt": 0 for size in SIZES}),
                name="stock_has_labels",
            ),
            models.CheckConstraint(
                condition=Q(**{f"{length}__gte": 0 for length in LENGTHS}), name="stock_lengths"
            ),
            models.CheckConstraint(
                condition=Q(columns=1) | Q(pitch_x__gte=F("label_width") - stock.SLACK),
                name="stock_columns_apart",
                violation_error_message=_("The columns overlap."),
            ),
            models.CheckConstraint(
                condition=Q(rows=1) | Q(pitch_y__gte=F("label_height") - stock.SLACK),
                name="stock_rows_apart",
                violation_error_message=_("The rows overlap."),
            ),
            models.CheckConstraint(
                condition=Q(
                    page_width__gte=F("left")
                    + F("label_width")
                    + (F("columns") - 1) * F("pitch_x")
                    - stock.SLACK
                ),
                name="stock_within_width",
                violation_error_message=_("The last column leaves the page at the right."),
            ),
            models.CheckConstraint(
                condition=Q(
                    page_height__gte=F("top")
                    + F("label_height")
                    + (F("rows") - 1) * F("pitch_y")
                    - stock.SLACK
                ),
                name="stock_within_height",
                violation_error_message=_("The last row leaves the page at the bottom."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def measurements(self) -> stock.LabelStock:
        lengths = {length: getattr(self, length) for length in LENGTHS}
        return stock.LabelStock(name=self.name, columns=self.columns, rows=self.rows, **lengths)


class Printer(models.Model):
    """How much a printer is off, as its test sheet shows, so that sheets make up for it."""

    name = models.CharField(_("name"), max_length=60, unique=True)
    offset_x = models.FloatField(
        _("nudge to the right, in mm"),
        default=0.0,
        validators=[MinValueValidator(-20), MaxValueValidator(20)],
        help_text=_("Less than 0 nudges to the left."),
    )
    offset_y = models.FloatField(
        _("nudge down, in mm"),
        default=0.0,
        validators=[MinValueValidator(-20), MaxValueValidator(20)],
        help_text=_("Less than 0 nudges up."),
    )
    scale_percent = models.FloatField(
        _("scale in %"),
        default=100.0,
        validators=[MinValueValidator(90), MaxValueValidator(110)],
        help_text=_(
            "Divide what a ruler of the test sheet should measure by what it does measure: "
            "100 mm that come out as 99 mm are 101 %."
        ),
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name = _("printer")
        verbose_name_plural = _("printers")
        constraints = [
            models.CheckConstraint(
                condition=Q(offset_x__range=(-20, 20), offset_y__range=(-20, 20)),
                name="printer_offset",
            ),
            models.CheckConstraint(
                condition=Q(scale_percent__range=(90, 110)), name="printer_scale"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def offset(self) -> tuple[float, float]:
        return self.offset_x, self.offset_y

    @property
    def scale(self) -> float:
        return self.scale_percent / 100


MEMBER_STATE = RegexValidator(r"^[A-Z]{2}$", _("Two capital letters, like NL."))


class TagSettings(models.Model):
    """What stands on the nursery's tags beyond the facts of a lot: one row for all."""

    nursery_line = models.CharField(
        _("the nursery's own line"),
        max_length=60,
        blank=True,
        help_text=_("In small print on every tag: a name, a place, a telephone number."),
    )
    protected_notice = models.BooleanField(
        _("say on tags of protected varieties that they may not be propagated without a licence"),
        default=True,
    )
    pet_groups = models.ManyToManyField(
        CropGroup,
        blank=True,
        verbose_name=_("harmful to pets and people if eaten: say so on tags of"),
        help_text=_("Look each up with a poison centre or a veterinary source: we keep no list."),
    )
    passport = models.BooleanField(_("print an EU plant passport on pot tags"), default=False)
    registration = models.CharField(
        _("registration number"),
        max_length=30,
        blank=True,
        help_text=_("As the plant-health authority gave it, without the country's letters."),
    )
    member_state = models.CharField(
        _("Member State"), max_length=2, blank=True, validators=[MEMBER_STATE]
    )
    passport_words = models.CharField(
        _("“Plant Passport” in your official language"),
        max_length=40,
        blank=True,
        help_text=_("Empty where that is English."),
    )
    origin = models.CharField(
        _("letters of the country of origin"),
        max_length=2,
        blank=True,
        validators=[MEMBER_STATE],
        help_text=_("Where it has to be said: the passport's letter D."),
    )

    history = HistoricalRecords()

    class Meta:
        verbose_name = _("what stands on the tags")
        verbose_name_plural = _("what stands on the tags")
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="tag_settings_once"),
            models.CheckConstraint(
                condition=Q(passport=False) | ~(Q(registration="") | Q(member_state="")),
                name="passport_has_registration",
                violation_error_message=_(
                    "A plant passport needs the registration number and the Member State."
                ),
            ),
        ]

    def __str__(self) -> str:
        return str(self._meta.verbose_name)


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
        Printer, models.PROTECT, null=True, related_name="+", verbose_name=_("printer")
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
