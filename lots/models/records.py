"""What people saw and did: one table a kind, over one base.

A record is never edited or deleted: it is voided with a reason and stays visible. Triggers in
the database hold that too (`lots.models.triggers`).
"""

import uuid as uuidlib

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots.models.catalogue import PotSize
from lots.models.kinds import Carried
from lots.models.lot import Lot
from lots.models.place import Place
from lots.tally import Event

AT_LEAST_ONE = [MinValueValidator(1)]


class Record(models.Model):
    """The base: whose lot, when it was seen, when it reached the book, by whom; voided or not.

    `uuid` is made where the record is made (a phone, a form), so that a record sent twice is
    known for one.

    A kind declares its word, its CSV file and what it carries. `OFFERED_IN` are the stages in which
    a lot's page offers it among the rest; it offers the verbs that all growers know by itself.
    """

    KIND = ""
    FILE = ""
    CARRIES: tuple[Carried, ...] = ()
    OFFERED_IN: tuple[str, ...] = ()

    uuid = models.UUIDField(unique=True, default=uuidlib.uuid4)
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="%(class)s_set")
    observed_at = models.DateTimeField(_("seen at"))
    recorded_at = models.DateTimeField(_("recorded at"), default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", verbose_name=_("by")
    )
    # Records that were written together bear the same number, and are taken back together.
    action = models.UUIDField(_("action"), null=True, editable=False)
    voided_at = models.DateTimeField(_("voided at"), null=True)
    voided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    voided_why = models.CharField(_("why voided"), max_length=200, blank=True)

    class Meta:
        abstract = True
        indexes = [
            models.Index(fields=["lot", "observed_at"], name="%(class)s_of_lot"),
            models.Index(fields=["-recorded_at"], name="%(class)s_newest"),
            models.Index(
                fields=["action"],
                name="%(class)s_action",
                condition=Q(action__isnull=False),
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(voided_at__isnull=True, voided_by__isnull=True, voided_why="")
                | Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(voided_why=""),
                name="%(class)s_voided_whole",
            )
        ]

    def __str__(self) -> str:
        return f"{self._meta.verbose_name} {self.uuid}"

    @property
    def is_voided(self) -> bool:
        return self.voided_at is not None

    @classmethod
    def counted(cls) -> list[str]:
        """The fields that `lots.tally` is told of."""
        return [carried.field for carried in cls.CARRIES if carried.counts]

    @classmethod
    def at_fault(cls) -> str | None:
        """The field to mend in a record that takes more than there is: the first number of those
        that count."""
        integers = (models.PositiveIntegerField, models.PositiveSmallIntegerField)
        numbers = (n for n in cls.counted() if isinstance(cls._meta.get_field(n), integers))
        return next(numbers, None)

    @classmethod
    def named(cls) -> list[str]:
        """The fields that name a row of another table, which a page shows with the record."""
        names = [carried.field for carried in cls.CARRIES]
        return [name for name in names if cls._meta.get_field(name).is_relation]

    def event(self) -> Event:
        """The record as `lots.tally` reads it."""
        day = timezone.localtime(self.observed_at).date()
        fields = {name: self._meta.get_field(name).attname for name in self.counted()}
        told = {name: getattr(self, attribute) for name, attribute in fields.items()}
        return Event(kind=self.KIND, at=self.observed_at, day=day, **told)

    @property
    def sentence(self) -> str:
        """The template that says it in a history."""
        return f"ledger/entry/{self.KIND}.html"


class StrikeCheck(Record):
    """Someone looked: so many units looked at, so many held at the tug, so many show growth."""

    KIND, FILE = "check", "checks"
    CARRIES = (
        Carried("looked_at", counts=True),
        Carried("rooted", counts=True),
        Carried("showing"),
        Carried("whole_lot"),
        Carried("note"),
    )

    looked_at = models.PositiveIntegerField(_("looked at"), validators=AT_LEAST_ONE)
    rooted = models.PositiveIntegerField(_("rooted"))
    showing = models.PositiveIntegerField(_("showing new growth"), null=True, blank=True)
    whole_lot = models.BooleanField(_("the whole lot"), default=False)
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta(Record.Meta):
        verbose_name = _("strike check")
        verbose_name_plural = _("strike checks")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(looked_at__gte=1)
                & Q(rooted__lte=F("looked_at"))
                & (Q(showing__isnull=True) | Q(showing__lte=F("looked_at"))),
                name="check_within_looked_at",
                violation_error_message=_(
                    "No more can be rooted or showing growth than were looked at."
                ),
            ),
        ]


class Loss(Record):
    """Units removed, with the reason."""

    KIND, FILE = "loss", "losses"
    CARRIES = (
        Carried("stage", counts=True),
        Carried("units", counts=True),
        Carried("reason"),
        Carried("note"),
    )

    class Where(models.TextChoices):
        CELL = "cell", _("from cells")
        POT = "pot", _("from pots")

    class Reason(models.TextChoices):
        ROT = "rot", _("rot")
        DRIED_OUT = "dried out", _("dried out")
        BLIND = "blind", _("blind")
        PEST = "pest", _("pest")
        DISEASE = "disease", _("disease")
        MISHAP = "mishap", _("mishap")
        OTHER = "other", _("other")

    stage = models.CharField(_("from"), max_length=4, choices=Where)
    units = models.PositiveIntegerField(_("units"), validators=AT_LEAST_ONE)
    reason = models.CharField(_("reason"), max_length=10, choices=Reason)
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta(Record.Meta):
        verbose_name = _("loss")
        verbose_name_plural = _("losses")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(condition=Q(units__gte=1), name="loss_units"),
            models.CheckConstraint(
                condition=Q(stage__in=["cell", "pot"])
                & Q(reason__in=["rot", "dried out", "blind", "pest", "disease", "mishap", "other"]),
                name="loss_stage_and_reason",
            ),
        ]


class Move(Record):
    """The lot was carried to another place, or only its cells or its pots were."""

    KIND, FILE = "move", "moves"
    CARRIES = (
        Carried("place", counts=True),
        Carried("what", counts=True, empty="all", later=True),
    )

    class What(models.TextChoices):
        CELLS = "cells", _("cells")
        POTS = "pots", _("pots")
        ALL = "all", _("all of it")

    place = models.ForeignKey(Place, models.PROTECT, related_name="+", verbose_name=_("new place"))
    what = models.CharField(_("what"), max_length=5, choices=What, default=What.ALL)

    class Meta(Record.Meta):
        verbose_name = _("move")
        verbose_name_plural = _("moves")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(what__in=["cells", "pots", "all"]), name="move_what"
            ),
        ]


class PotUp(Record):
    """Units moved from cells into pots of a size."""

    KIND, FILE = "potup", "potups"
    CARRIES = (
        Carried("units", counts=True),
        Carried("pots", counts=True),
        Carried("pot_size", counts=True),
    )

    units = models.PositiveIntegerField(_("units from cells"), validators=AT_LEAST_ONE)
    pots = models.PositiveIntegerField(_("pots made"), validators=AT_LEAST_ONE)
    pot_size = models.ForeignKey(
        PotSize, models.PROTECT, related_name="+", verbose_name=_("pot size")
    )

    class Meta(Record.Meta):
        verbose_name = _("pot-up")
        verbose_name_plural = _("pot-ups")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(pots__gte=1) & Q(pots__lte=F("units")),
                name="potup_pots",
                violation_error_message=_("Each pot takes at least one unit from the cells."),
            ),
        ]


class Finish(Record):
    """Pots became fit to sell."""

    KIND, FILE = "finish", "finishes"
    CARRIES = (Carried("pots", counts=True), Carried("pot_size", counts=True))

    pots = models.PositiveIntegerField(_("pots"), validators=AT_LEAST_ONE)
    pot_size = models.ForeignKey(
        PotSize,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("pot size"),
    )

    class Meta(Record.Meta):
        verbose_name = _("finish")
        verbose_name_plural = _("finishes")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(condition=Q(pots__gte=1), name="finish_pots"),
        ]


class Leave(Record):
    """Pots went out: sold, given, kept for stock, culled."""

    KIND, FILE = "leave", "leaves"
    CARRIES = (
        Carried("pots", counts=True),
        Carried("stage", counts=True, column="from", key="from"),
        Carried("way", column="kind"),
        Carried("to"),
    )

    class Where(models.TextChoices):
        FINISHED = "finished", _("finished pots")
        GROWING = "growing", _("pots still growing")

    class Way(models.TextChoices):
        SOLD = "sold", _("sold")
        GIVEN = "given", _("given")
        STOCK = "stock", _("kept for stock")
        CULLED = "culled", _("culled")

    pots = models.PositiveIntegerField(_("pots"), validators=AT_LEAST_ONE)
    stage = models.CharField(_("from"), max_length=8, choices=Where, default=Where.FINISHED)
    way = models.CharField(_("how"), max_length=6, choices=Way, default=Way.SOLD)
    to = models.CharField(_("to"), max_length=100, blank=True)

    class Meta(Record.Meta):
        verbose_name = _("leave")
        verbose_name_plural = _("leaves")
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(condition=Q(pots__gte=1), name="leave_pots"),
            models.CheckConstraint(
                condition=Q(stage__in=["finished", "growing"])
                & Q(way__in=["sold", "given", "stock", "culled"]),
                name="leave_stage_and_way",
            ),
        ]


RECORDS: dict[str, type[Record]] = {
    model.KIND: model for model in (StrikeCheck, Loss, Move, PotUp, Finish, Leave)
}
