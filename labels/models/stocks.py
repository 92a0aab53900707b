"""The nursery's own label stocks, and its printers."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from labels import stock
from lots.models.known import Known, alike_in_no_capitals

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


class LabelStock(Known):
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
    folded = models.BooleanField(
        _("folded in half, left on right: both halves are printed"), default=False
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name = _("label stock")
        verbose_name_plural = _("label stocks")
        constraints = [
            alike_in_no_capitals("labelstock"),
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
        return stock.LabelStock(
            name=self.name, columns=self.columns, rows=self.rows, folded=self.folded, **lengths
        )


class Printer(Known):
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
            alike_in_no_capitals("printer"),
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
