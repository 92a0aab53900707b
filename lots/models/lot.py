"""Lots, and the cuts they are made of.

The counts of a lot are written by `lots.ledger` alone; they are what its unvoided records add
up to (`lots.tally`), and the constraints below hold that sum in the database.
"""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots import codes
from lots.models.catalogue import Method, PotSize, Variety
from lots.models.place import Flat, Place
from lots.models.session import StickingSession
from lots.models.stock import StockPlant


class Stage(models.TextChoices):
    PLANNED = "planned", _("planned")
    NOT_STUCK = "not stuck", _("not stuck")
    STUCK = "stuck", _("stuck")
    STRUCK = "struck", _("struck")
    GROWING = "growing", _("growing on")
    FINISHED = "finished", _("finished")
    CLOSED = "closed", _("closed")


# Above these a slip of the finger is likelier than a lot.
MOST_UNITS = 100_000  # of one lot
MOST_PIECES = 1_000  # of one unit

# What is alive on the benches.
STANDING = [Stage.STUCK, Stage.STRUCK, Stage.GROWING, Stage.FINISHED]

COUNTS = [
    "cells",
    "cells_lost",
    "units_potted",
    "pots_made",
    "pots_growing",
    "pots_lost",
    "pots_finished",
    "pots_left",
]
# What the records say of when, and of how much of it holds.
OBSERVED = [
    "struck_after",
    "struck_on",
    "finished_after",
    "finished_on",
    "potted_on",
    "seen_on",
    "tested_on",
    "tested",
    "held",
]


class LotPart(NamedTuple):
    """What of a lot stands together (all of it, or its cells or its pots alone), and where."""

    what: str
    place: Place | None

    @property
    def bench(self) -> str:
        """The bench; empty where there is no place."""
        return self.place.bench if self.place else ""


class Lot(models.Model):
    """One variety, by one method, stuck on one day under one tag."""

    code = models.CharField(_("lot"), max_length=6, unique=True, editable=False)
    session = models.ForeignKey(
        StickingSession,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="lots",
        verbose_name=_("session"),
    )
    line = models.PositiveSmallIntegerField(_("line in the session"), default=0)
    variety = models.ForeignKey(
        Variety, models.PROTECT, related_name="lots", verbose_name=_("variety")
    )
    method = models.ForeignKey(
        Method, models.PROTECT, related_name="lots", verbose_name=_("method")
    )
    medium = models.CharField(_("medium"), max_length=80, blank=True)
    hormone = models.CharField(_("rooting hormone"), max_length=80, blank=True)
    planned_units = models.PositiveIntegerField(
        _("planned units"), validators=[MinValueValidator(1)]
    )
    pieces_per_unit = models.PositiveSmallIntegerField(
        _("pieces a unit"), default=1, validators=[MinValueValidator(1)]
    )
    direct_pot_size = models.ForeignKey(
        PotSize,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("stuck straight into pots of"),
    )
    flat = models.ForeignKey(
        Flat, models.PROTECT, null=True, blank=True, related_name="lots", verbose_name=_("flat")
    )
    first_place = models.ForeignKey(
        Place,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("place when stuck"),
    )
    stuck_on = models.DateField(_("stuck on"), null=True, blank=True)
    stuck_units = models.PositiveIntegerField(
        _("stuck units"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    stuck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="lots_stuck",
        verbose_name=_("stuck by"),
    )
    confirmed_by = models.ForeignKey(  # who said so last, for themselves or for others
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        verbose_name=_("confirmed by"),
    )
    note = models.TextField(_("note"), blank=True)
    arm = models.ForeignKey(
        "lots.Arm",
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="lots",
        verbose_name=_("arm of a trial"),
    )
    stock_plants = models.ManyToManyField(
        StockPlant, through="Cut", related_name="lots", verbose_name=_("stock plants")
    )

    # Kept by the ledger: what the records add up to.
    stage = models.CharField(
        _("stage"), max_length=10, choices=Stage, default=Stage.PLANNED, editable=False
    )
    place = models.ForeignKey(
        Place,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="lots",
        editable=False,
        verbose_name=_("place"),
    )
    pots_place = models.ForeignKey(
        Place,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        editable=False,
        verbose_name=_("place of its pots"),
    )
    cells = models.PositiveIntegerField(_("alive in cells"), default=0, editable=False)
    cells_lost = models.PositiveIntegerField(_("lost from cells"), default=0, editable=False)
    units_potted = models.PositiveIntegerField(_("units potted up"), default=0, editable=False)
    pots_made = models.PositiveIntegerField(_("pots"), default=0, editable=False)
    pots_growing = models.PositiveIntegerField(_("pots growing"), default=0, editable=False)
    pots_lost = models.PositiveIntegerField(_("pots lost"), default=0, editable=False)
    pots_finished = models.PositiveIntegerField(_("finished pots here"), default=0, editable=False)
    pots_left = models.PositiveIntegerField(_("pots gone out"), default=0, editable=False)
    pot_size = models.ForeignKey(
        PotSize,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        editable=False,
        verbose_name=_("pot size"),
    )
    struck_after = models.DateField(_("not struck yet on"), null=True, editable=False)
    struck_on = models.DateField(_("struck on"), null=True, editable=False)
    finished_after = models.DateField(_("not finished yet on"), null=True, editable=False)
    finished_on = models.DateField(_("finished on"), null=True, editable=False)
    potted_on = models.DateField(_("half potted up on"), null=True, editable=False)
    seen_on = models.DateField(_("last looked at"), null=True, editable=False)
    tested_on = models.DateField(_("last tug test"), null=True, editable=False)
    tested = models.PositiveIntegerField(_("looked at then"), default=0, editable=False)
    held = models.PositiveIntegerField(_("rooted then"), default=0, editable=False)
    # Kept by the outlook: when to look again; when nine in ten of its kind are through its stage,
    # and 39 in 40; whether it loses more than chance makes one lot in 40 lose.
    look_on = models.DateField(_("look again on"), null=True, editable=False)
    late_after = models.DateField(_("late after"), null=True, editable=False)
    seldom_after = models.DateField(_("seldom so late"), null=True, editable=False)
    heavy_losses = models.BooleanField(_("heavy losses"), default=False, editable=False)

    class Meta:
        ordering = ["-stuck_on", "-pk"]
        verbose_name = _("lot")
        verbose_name_plural = _("lots")
        indexes = [
            models.Index(fields=["-stuck_on", "-id"], name="lot_newest"),
            models.Index(fields=["stage", "-stuck_on", "-id"], name="lot_stage"),
            models.Index(fields=["variety", "-stuck_on", "-id"], name="lot_variety"),
            models.Index(fields=["place", "stage"], name="lot_place"),
            models.Index(
                fields=["pots_place"],
                name="lot_pots_place",
                condition=Q(pots_place__isnull=False),
            ),
            models.Index(fields=["stuck_by", "-stuck_on", "-id"], name="lot_stuck_by"),
            models.Index(
                fields=["look_on", "place"], name="lot_look", condition=Q(look_on__isnull=False)
            ),
            models.Index(
                fields=["late_after"], name="lot_late", condition=Q(late_after__isnull=False)
            ),
            models.Index(
                fields=["variety", "direct_pot_size", "pot_size", "pots_finished"],
                name="lot_with_finished",
                condition=Q(pots_finished__gt=0),
            ),
            models.Index(fields=["-stuck_on"], name="lot_losing", condition=Q(heavy_losses=True)),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(planned_units__gte=1), name="lot_planned_units"),
            models.CheckConstraint(condition=Q(pieces_per_unit__gte=1), name="lot_pieces"),
            models.CheckConstraint(condition=Q(stage__in=Stage.values), name="lot_stage_known"),
            models.CheckConstraint(
                condition=Q(
                    stage__in=[Stage.PLANNED, Stage.NOT_STUCK],
                    stuck_on__isnull=True,
                    stuck_units__isnull=True,
                    pots_made=0,
                    cells=0,
                    cells_lost=0,
                    units_potted=0,
                )
                | Q(stuck_on__isnull=False, stuck_units__isnull=False, stuck_units__gte=1)
                & ~Q(stage__in=[Stage.PLANNED, Stage.NOT_STUCK]),
                name="lot_stuck_or_not",
            ),
            models.CheckConstraint(
                condition=Q(stuck_units__isnull=True)
                | Q(
                    direct_pot_size__isnull=True,
                    stuck_units=F("cells") + F("cells_lost") + F("units_potted"),
                )
                | Q(
                    direct_pot_size__isnull=False,
                    cells=0,
                    cells_lost=0,
                    units_potted=0,
                    pots_made=F("stuck_units"),
                ),
                name="lot_units_conserved",
            ),
            models.CheckConstraint(
                condition=Q(
                    pots_made=F("pots_growing")
                    + F("pots_lost")
                    + F("pots_finished")
                    + F("pots_left")
                ),
                name="lot_pots_conserved",
            ),
            models.CheckConstraint(
                condition=Q(pots_place__isnull=True)
                | Q(cells__gte=1)
                & (Q(pots_growing__gte=1) | Q(pots_finished__gte=1))
                & (Q(place__isnull=True) | ~Q(pots_place=F("place"))),
                name="lot_at_two_places",
            ),
        ]

    def __str__(self) -> str:
        return codes.show(self.code)

    @property
    def direct(self) -> bool:
        """Stuck straight into pots: its units are pots from the first day."""
        return self.direct_pot_size_id is not None

    @property
    def is_stuck(self) -> bool:
        return self.stuck_on is not None

    @property
    def is_standing(self) -> bool:
        return self.stage in STANDING

    @property
    def pots_here(self) -> int:
        return self.pots_growing + self.pots_finished

    @property
    def parts(self) -> list[LotPart]:
        """Where it stands: at one place, or its cells at one and its pots at another."""
        if self.pots_place_id is None:
            return [LotPart("all", self.place)]
        return [LotPart("cells", self.place), LotPart("pots", self.pots_place)]

    @property
    def in_flat(self) -> bool:
        """Whether it stands in its flat, or is to: a flat holds cells, and no pots."""
        return self.flat_id is not None and bool(self.cells or not (self.is_stuck or self.direct))

    @property
    def units(self) -> int:
        """Stuck units, or what is planned as long as nothing is stuck."""
        return self.stuck_units or self.planned_units

    def day_number(self, today: date | None = None) -> int | None:
        """Days since sticking: 0 on the day itself, None while nothing is stuck."""
        return ((today or timezone.localdate()) - self.stuck_on).days if self.stuck_on else None


def at(place: Place) -> Q:
    """Lots of which something stands at a place, or stood last."""
    return Q(place=place) | Q(pots_place=place)


def at_any(places: Iterable[Place]) -> Q:
    """The same of several places."""
    places = list(places)
    return Q(place__in=places) | Q(pots_place__in=places)


def struck_in_cells() -> Q:
    """Lots of which cells are to be potted up: it has struck."""
    stages = [Stage.STRUCK, Stage.GROWING]
    return Q(stage__in=stages, cells__gt=0, struck_on__isnull=False)


class Cut(models.Model):
    """A lot's pieces from one stock plant, in the order of cutting."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="cuts", verbose_name=_("lot"))
    stock_plant = models.ForeignKey(
        StockPlant, models.PROTECT, related_name="cuts", verbose_name=_("stock plant")
    )
    pieces = models.PositiveIntegerField(
        _("pieces"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    order = models.PositiveIntegerField(_("order in the session"), default=0)
    disinfected_before = models.BooleanField(_("tools disinfected before"), default=False)

    class Meta:
        ordering = ["order", "pk"]
        verbose_name = _("cut")
        verbose_name_plural = _("cuts")
        constraints = [
            models.UniqueConstraint(fields=["lot", "stock_plant"], name="cut_once_a_lot"),
        ]

    def __str__(self) -> str:
        return f"{self.lot} ← {self.stock_plant}"
