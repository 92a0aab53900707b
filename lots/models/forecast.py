"""Forecasts as they were made: per lot as it stood at sticking, and the newest."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from lots.models.lot import Lot


class Forecast(models.Model):
    """When a lot will strike and finish, how much of it takes, and how many pots will come.

    `p10 p50 p90` are the days by which it is there with a chance of 10, 50 and 90 in 100.
    A row with `due` set is one that somebody still waits for: it is what the pages by week read.
    """

    class Moment(models.TextChoices):
        STICKING = "sticking", _("at sticking")
        NEWEST = "newest", _("newest")

    class Basis(models.TextChoices):
        HANDBOOK = "handbook", _("the handbook")
        OWN = "own", _("our own lots")

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="forecasts")
    moment = models.CharField(max_length=10, choices=Moment)
    made_on = models.DateField()
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
    pots_p10 = models.PositiveIntegerField()
    pots_p50 = models.PositiveIntegerField()
    pots_p90 = models.PositiveIntegerField()
    lots_struck = models.PositiveIntegerField(default=0)
    lots_finished = models.PositiveIntegerField(default=0)
    lots_take = models.PositiveIntegerField(default=0)
    due = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "moment"], name="forecast_one_a_moment"),
        ]
        indexes = [
            models.Index(
                fields=["finished_p50", "pots_p10", "pots_p50", "pots_p90"],
                name="forecast_due",
                condition=models.Q(due=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.moment}"
