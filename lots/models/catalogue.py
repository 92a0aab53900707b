"""What the nursery grows and how: crop groups, methods, pot sizes, varieties."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots import names
from lots.forecast import handbook
from lots.models.known import Known, alike_in_no_capitals


class SourcePart(models.TextChoices):
    LEAF = "leaf", _("leaf")
    STEM = "stem", _("stem")
    RHIZOME = "rhizome", _("rhizome")
    CROWN = "crown", _("crown")
    ROOT = "root", _("root")


def kinds() -> list[tuple[str, str]]:
    """The handbook's kinds of plant, to choose from."""
    return [(kind, kind) for kind in handbook.kinds()]


def cuts() -> list[tuple[str, str]]:
    """The handbook's ways of cutting, to choose from."""
    return [(method, method) for method in handbook.methods()]


class CropGroup(Known):
    """Varieties that root and grow alike; `roots_like` is the handbook's kind that forecasts lean
    on, empty if it has none that is like it."""

    name = models.CharField(_("name"), max_length=60, unique=True)
    genus = models.CharField(_("genus"), max_length=60, blank=True)
    roots_like = models.CharField(_("roots like"), max_length=60, blank=True, choices=kinds)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name = _("crop group")
        verbose_name_plural = _("crop groups")
        constraints = [alike_in_no_capitals("cropgroup")]

    def __str__(self) -> str:
        return self.name


class Method(Known):
    """How the piece is cut; `cut_like` is the handbook's way of cutting that forecasts lean on,
    empty if it has none that is like it."""

    name = models.CharField(_("name"), max_length=60, unique=True)
    source_part = models.CharField(_("part of the plant"), max_length=10, choices=SourcePart)
    cut_like = models.CharField(_("cut like"), max_length=60, blank=True, choices=cuts)
    pieces_per_source = models.PositiveSmallIntegerField(
        _("pieces from one leaf or shoot"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
    )
    needs_shoot = models.BooleanField(
        _("has to make a shoot after the root"),
        default=False,
        help_text=_("Yes for leaf pieces, which may root and stay blind; no for tips."),
    )
    how_to = models.TextField(_("how-to card"), blank=True)
    pieces_per_hour = models.PositiveSmallIntegerField(
        _("pieces an hour"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text=_("How many one person cuts and sticks in an hour."),
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name = _("method")
        verbose_name_plural = _("methods")
        constraints = [
            alike_in_no_capitals("method"),
            models.CheckConstraint(
                condition=Q(source_part__in=SourcePart.values), name="method_source_part"
            ),
            models.CheckConstraint(
                condition=Q(pieces_per_source__isnull=True) | Q(pieces_per_source__gte=1),
                name="method_pieces",
                violation_error_message=_("One leaf or shoot gives at least 1 piece."),
            ),
            models.CheckConstraint(
                condition=Q(pieces_per_hour__isnull=True) | Q(pieces_per_hour__gte=1),
                name="method_per_hour",
                violation_error_message=_("In an hour at least 1 piece is stuck."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PotSize(Known):
    """A size of pot, how many pieces go into one, and how many must strike for a full pot."""

    name = models.CharField(_("name"), max_length=40, unique=True)
    diameter_cm = models.DecimalField(
        _("diameter in cm"), max_digits=4, decimal_places=1, validators=[MinValueValidator(1)]
    )
    pieces_per_pot = models.PositiveSmallIntegerField(
        _("pieces a pot"), default=1, validators=[MinValueValidator(1)]
    )
    least_struck = models.PositiveSmallIntegerField(
        _("least struck pieces for a full pot"), default=1, validators=[MinValueValidator(1)]
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["diameter_cm", "name"]
        verbose_name = _("pot size")
        verbose_name_plural = _("pot sizes")
        constraints = [
            alike_in_no_capitals("potsize"),
            models.CheckConstraint(
                condition=Q(least_struck__gte=1) & Q(least_struck__lte=F("pieces_per_pot")),
                name="potsize_least_struck",
                violation_error_message=_(
                    "A full pot needs at least 1 struck piece and no more than it holds."
                ),
            ),
            models.CheckConstraint(condition=Q(diameter_cm__gt=0), name="potsize_diameter"),
        ]

    def __str__(self) -> str:
        return self.name

    def pots_of(self, units: int, pieces_per_unit: int = 1) -> int:
        """How many pots so many units make: what is left over makes one more if it fills a pot,
        and goes in with the others if not. A pot takes a whole unit at least."""
        full, over = divmod(units * pieces_per_unit, self.pieces_per_pot)
        return min(max(full + (over >= self.least_struck), 1), units)


class Variety(Known):
    """One cultivar or species."""

    KNOWN_BY = "code"

    code = models.CharField(_("code"), max_length=20, unique=True)
    group = models.ForeignKey(
        CropGroup, models.PROTECT, related_name="varieties", verbose_name=_("crop group")
    )
    genus = models.CharField(_("genus"), max_length=60)
    species = models.CharField(_("epithet"), max_length=60, blank=True)
    hybrid = models.BooleanField(_("hybrid (×)"), default=False)
    cultivar = models.CharField(
        _("cultivar"),
        max_length=60,
        blank=True,
        help_text=_("Without the quotation marks: they are set where the name is shown."),
    )
    trade_name = models.CharField(_("trade designation"), max_length=60, blank=True)
    protected = models.BooleanField(
        _("protected"), default=False, help_text=_("By a plant patent or plant breeders' right.")
    )
    licence = models.CharField(_("licence reference"), max_length=100, blank=True)
    note = models.TextField(_("note"), blank=True)
    face = models.ForeignKey(
        "lots.Photo",
        models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        verbose_name=_("picture"),
    )

    history = HistoricalRecords(excluded_fields=["face"])

    class Meta:
        ordering = ["genus", "species", "cultivar", "code"]
        verbose_name = _("variety")
        verbose_name_plural = _("varieties")
        constraints = [alike_in_no_capitals("variety", "code")]

    def __str__(self) -> str:
        return names.plain(self.name_runs)

    @property
    def name_runs(self) -> names.Runs:
        return names.runs(self.genus, self.species, self.hybrid, self.cultivar, self.trade_name)

    @property
    def may_be_stuck(self) -> bool:
        return not self.protected or bool(self.licence.strip())
