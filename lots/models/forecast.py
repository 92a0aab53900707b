"""What the nursery's own lots say, and forecasts as they were made: per lot as it stood at
sticking, and the newest."""

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lots.models.lot import Lot


class Fit(models.Model):
    """The newest fit of the whole book (`lots.outlook`): one row, with key 1.

    `read_at` is when the book was read for it, `changed_at` the first change of the book after
    that. `calendar` is what it expects to finish, week by week; `judged` how the
    forecasts at sticking have done so far.
    """

    THE_ONE = 1

    read_at = models.DateTimeField()
    changed_at = models.DateTimeField(null=True)
    seconds = models.FloatField()
    data = models.JSONField()
    calendar = models.JSONField(default=dict)
    judged = models.JSONField(default=list)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="fit_only_one")]

    def __str__(self) -> str:
        return f"fit of {self.read_at:%Y-%m-%d %H:%M}"


class Forecast(models.Model):
    """When a lot will strike and finish, how much of it takes, and how many pots will come.

    `p10 p50 p90` are the days by which it is there with a chance of 10, 50 and 90 in 100.
    A row with `due` set is one that somebody still waits for: it is what the pages by week read.
    One with `hindsight` set was worked out later, for a lot that came into the book with its
    history, from what had been seen by then.
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
    pots_p10 = models.PositiveIntegerField()
    pots_p50 = models.PositiveIntegerField()
    pots_p90 = models.PositiveIntegerField()
    lots_struck = models.PositiveIntegerField(default=0)
    lots_finished = models.PositiveIntegerField(default=0)
    lots_take = models.PositiveIntegerField(default=0)
    due = models.BooleanField(default=False)
    hindsight = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "moment"], name="forecast_one_a_moment"),
        ]
        indexes = [
            # With `due` in it, SQLite finds all that the weeks need in the index alone.
            models.Index(
                fields=["finished_p50", "pots_p10", "pots_p50", "pots_p90", "due"],
                name="forecast_due",
                condition=Q(due=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.moment}"
