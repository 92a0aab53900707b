"""What is wanted, and what there is to make it with: targets, limits of a week, wishes of whoever
plans, and the plan that is kept."""

from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q, Value
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.catalogue import PotSize, Variety
from lots.models.days import check_day, iso_week, monday_of


class Outcome(models.TextChoices):
    """How a target came out; empty while it is open."""

    MET = "met", _("met")
    MISSED = "missed", _("missed")
    DROPPED = "dropped", _("dropped")


class Target(models.Model):
    """Pots of one variety and size wanted by a day; a standing one is wanted again every so many
    weeks, up to a day or for good. `confidence` is the chance with which it is to be met, None for
    that of the book."""

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
    confidence = models.FloatField(_("how sure"), null=True, blank=True)
    every_weeks = models.PositiveSmallIntegerField(
        _("again every so many weeks"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(520)],
    )
    until = models.DateField(_("until"), null=True, blank=True, validators=[check_day])
    outcome = models.CharField(_("came out"), max_length=10, choices=Outcome, blank=True)
    closed_on = models.DateField(_("closed on"), null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["wanted_by", "pk"]
        verbose_name = _("target")
        verbose_name_plural = _("targets")
        constraints = [
            models.CheckConstraint(condition=Q(pots__gte=1), name="target_pots"),
            models.CheckConstraint(
                condition=Q(confidence__isnull=True) | Q(confidence__gt=0, confidence__lt=1),
                name="target_confidence",
                violation_error_message=_("How sure is a share between 0 and 1, like 0.9."),
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True)
                | Q(every_weeks__isnull=False, until__gte=F("wanted_by")),
                name="target_until",
                violation_error_message=_(
                    "Only a target that comes again has a last day, and none before its first."
                ),
            ),
            models.CheckConstraint(
                condition=Q(every_weeks__isnull=True) | Q(every_weeks__gte=1),
                name="target_every",
            ),
            models.CheckConstraint(
                condition=Q(outcome="", closed_on__isnull=True)
                | Q(outcome__in=Outcome.values, closed_on__isnull=False),
                name="target_closed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pots} {self.variety} · {self.pot_size} · {self.wanted_by}"

    @property
    def which(self) -> tuple[int, date]:
        """What tells one time of a target from all others."""
        return self.pk, self.wanted_by

    @property
    def next_day(self) -> date | None:
        """The day on which a standing target is wanted again; None if it isn't."""
        if not self.every_weeks:
            return None
        day = self.wanted_by + timedelta(weeks=self.every_weeks)
        return None if self.until and day > self.until else day


class Limit(models.Model):
    """What a week has room for: flats on the propagation bench, minutes of sticking, and m² for
    pots to grow on. `week` is its Monday, None for every week without a row of its own. What is
    None is not limited."""

    week = models.DateField(
        _("week"),
        null=True,
        blank=True,
        unique=True,
        validators=[check_day],
        help_text=_("Any day of it. Empty: every week that has no line of its own."),
    )
    flats = models.PositiveIntegerField(_("flats on the propagation bench"), null=True, blank=True)
    cells_per_flat = models.PositiveSmallIntegerField(
        _("cells of a flat"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    minutes = models.PositiveIntegerField(_("minutes for sticking"), null=True, blank=True)
    pot_area_m2 = models.DecimalField(
        _("m² for pots to grow on"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )

    history = HistoricalRecords()

    class Meta:
        ordering = [F("week").asc(nulls_first=True)]
        verbose_name = _("limit")
        verbose_name_plural = _("limits")
        constraints = [
            models.UniqueConstraint(
                Value(1), condition=Q(week__isnull=True), name="limit_one_for_every_week"
            ),
            models.CheckConstraint(
                condition=Q(cells_per_flat__isnull=True) | Q(cells_per_flat__gte=1),
                name="limit_cells",
                violation_error_message=_("A flat has at least 1 cell."),
            ),
            models.CheckConstraint(
                condition=Q(pot_area_m2__isnull=True) | Q(pot_area_m2__gte=0), name="limit_area"
            ),
        ]

    def __str__(self) -> str:
        if self.week is None:
            return gettext("every week")
        return iso_week(self.week)

    def clean(self) -> None:
        if self.week:
            self.week = monday_of(self.week)
        elif Limit.objects.filter(week=None).exclude(pk=self.pk).exists():
            says = gettext("Every week has its line already: change that one, or name a week.")
            raise ValidationError({"week": says})


class PlanSettings(models.Model):
    """What plans go by where nothing else is said: one row, with key 1. `confidence` is the chance
    with which targets are to be met."""

    THE_ONE = 1
    CONFIDENCE = 0.9

    confidence = models.FloatField(_("how sure targets are to be met"), default=CONFIDENCE)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="plan_settings_only_one"),
            models.CheckConstraint(
                condition=Q(confidence__gt=0, confidence__lt=1), name="plan_settings_confidence"
            ),
        ]

    def __str__(self) -> str:
        return gettext("%(sure)s in 100") % {"sure": round(100 * self.confidence)}


class Wish(models.Model):
    """What whoever plans has settled: a target is to be stuck in a week (`pinned`, so many units,
    or as many as it needs), or is not."""

    target = models.ForeignKey(Target, models.CASCADE, related_name="wishes")
    wanted_by = models.DateField()
    week = models.DateField()
    barred = models.BooleanField(default=False)
    units = models.PositiveIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["target", "wanted_by", "week"], name="wish_one_a_week"),
            models.CheckConstraint(
                condition=Q(units__isnull=True) | Q(units__gte=1, barred=False), name="wish_units"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.target} {self.week}"


class Plan(models.Model):
    """The plan that is kept: one row, with key 1. `of` says of what state of the book it was made,
    `data` is what `manage.py plan --json` prints and what its pages need beside it, `before` the
    one of an earlier week."""

    THE_ONE = 1

    made_at = models.DateTimeField(default=timezone.now)
    of = models.JSONField(default=dict)
    data = models.JSONField()
    before = models.JSONField(default=dict)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="plan_only_one")]

    def __str__(self) -> str:
        return f"plan of {self.made_at:%Y-%m-%d %H:%M}"
