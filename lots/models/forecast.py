"""What the nursery's own lots say, and forecasts as they were made: per lot as it stood at
sticking, and the newest, with the days on which its pots are to come."""

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots.models.catalogue import PotSize, Variety
from lots.models.lot import Lot


class Fit(models.Model):
    """The newest fit of the whole book (`lots.outlook`): one row, with key 1.

    `read_at` is when the book was read for it, `changed_at` the first change of the book after
    that. `calendar` are the bands of what it expects to finish, week by week; `judged` how the
    forecasts at sticking have done so far, `noticed` where they lie to one side of late. On
    `answered_on` somebody last said whether something had changed.
    """

    THE_ONE = 1

    read_at = models.DateTimeField()
    changed_at = models.DateTimeField(null=True)
    seconds = models.FloatField()
    data = models.JSONField()
    calendar = models.JSONField(default=dict)
    judged = models.JSONField(default=list)
    noticed = models.JSONField(default=list)
    answered_on = models.DateField(null=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="fit_only_one")]

    def __str__(self) -> str:
        return f"fit of {self.read_at:%Y-%m-%d %H:%M}"


class Forecast(models.Model):
    """When a lot will strike and finish, how much of it takes, and how many pots are to come.

    `p10 p50 p90` are the days by which it is there with a chance of 10, 50 and 90 in 100.
    `take_p10_inside` and `take_p90_inside` are how much of a take of just that share lies between
    those chances: what a take on the edge of its band counts when forecasts are judged. Half, in
    those made before it was kept.
    `to_come` are the pots still to come, as expected and by the ends of the band: those that are
    finished, or gone out, are not among them. One with `hindsight` set was worked out later, for a
    lot that came into the book with its history, from what had been seen by then.
    """

    class Moment(models.TextChoices):
        STICKING = "sticking", _("at sticking")
        NEWEST = "newest", _("newest")

    class Basis(models.TextChoices):
        HANDBOOK = "handbook", _("the handbook")
        OWN = "own", _("our own lots")

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="forecasts")
    moment = models.CharField(max_length=10, choices=Moment)
    made_at = models.DateTimeField(default=timezone.now)
    basis = models.CharField(max_length=10, choices=Basis)
    source = models.TextField(blank=True)
    struck_p10 = models.DateField()
    struck_p50 = models.DateField()
    struck_p90 = models.DateField()
    finished_p10 = models.DateField()
    finished_p50 = models.DateField()
    finished_p90 = models.DateField()
    take_mean = models.FloatField()
    take_p10 = models.FloatField()
    take_p90 = models.FloatField()
    take_p10_inside = models.FloatField(default=0.5)
    take_p90_inside = models.FloatField(default=0.5)
    to_come_p10 = models.PositiveIntegerField()
    to_come = models.PositiveIntegerField()
    to_come_p90 = models.PositiveIntegerField()
    lots_struck = models.PositiveIntegerField(default=0)
    lots_finished = models.PositiveIntegerField(default=0)
    lots_take = models.PositiveIntegerField(default=0)
    hindsight = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "moment"], name="forecast_one_a_moment"),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.moment}"


class ToCome(models.Model):
    """Pots of a standing lot that are expected about `day`, one row a lot and ISO week: `growing`
    are pots already, `cells` are to be made of what stands in cells. Written with the lot's newest
    forecast; together they are its `to_come`. `pot_size` is None while it isn't known which."""

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="to_come")
    variety = models.ForeignKey(Variety, models.CASCADE, related_name="+")
    pot_size = models.ForeignKey(
        PotSize, models.CASCADE, null=True, db_index=False, related_name="+"
    )
    day = models.DateField()
    growing = models.PositiveIntegerField(default=0)
    cells = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "day"], name="to_come_once_a_day"),
        ]
        indexes = [
            # All that the weeks and the availability list need is in the index alone.
            models.Index(
                fields=["day", "variety", "pot_size", "growing", "cells"], name="to_come_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.day}"

    @property
    def pots(self) -> int:
        return self.growing + self.cells
