"""Side-by-side trials: two ways of cutting one variety, stuck in the same flats on one day."""

from collections.abc import Sequence

from django.db import models
from django.utils.translation import gettext_lazy as _

from lots.models.catalogue import Method, Variety
from lots.models.session import StickingSession

LETTERS = "AB"


class Trial(models.Model):
    """Two arms over the same flats, with the arm of each cell drawn at random. Its flats are
    named by its `code`, like T7.

    `cells` is the drawing, a text for each flat with the letter of the arm in each cell. It is
    kept, since another version of the generator may draw something else from the same seed.
    The seed is drawn with the form and is a trial's own: a form sent twice is one trial.
    """

    code = models.CharField(_("code"), max_length=12, unique=True)
    session = models.ForeignKey(
        StickingSession, models.PROTECT, related_name="trials", verbose_name=_("session")
    )
    question = models.CharField(_("question"), max_length=200)
    variety = models.ForeignKey(
        Variety, models.PROTECT, related_name="trials", verbose_name=_("variety")
    )
    seed = models.PositiveIntegerField(_("seed"), unique=True)
    across = models.PositiveSmallIntegerField(_("cells in a row"))
    cells = models.JSONField(_("arm of each cell"))

    class Meta:
        ordering = ["-pk"]
        verbose_name = _("trial")
        verbose_name_plural = _("trials")
        constraints = [
            models.CheckConstraint(condition=models.Q(across__gte=1), name="trial_across"),
        ]

    def __str__(self) -> str:
        return self.question

    def flat_code(self, number: int) -> str:
        """The code of its flat of that number, counted from 1."""
        return f"{self.code}-{number}"


class Arm(models.Model):
    """One of the two ways that a trial compares."""

    trial = models.ForeignKey(Trial, models.PROTECT, related_name="arms", verbose_name=_("trial"))
    letter = models.CharField(_("arm"), max_length=1, choices=[(each, each) for each in LETTERS])
    method = models.ForeignKey(Method, models.PROTECT, related_name="+", verbose_name=_("method"))
    medium = models.CharField(_("medium"), max_length=80, blank=True)
    hormone = models.CharField(_("rooting hormone"), max_length=80, blank=True)

    class Meta:
        ordering = ["trial", "letter"]
        verbose_name = _("arm of a trial")
        verbose_name_plural = _("arms of trials")
        constraints = [
            models.UniqueConstraint(fields=["trial", "letter"], name="arm_once_a_trial"),
            models.CheckConstraint(condition=models.Q(letter__in=list(LETTERS)), name="arm_letter"),
        ]

    def __str__(self) -> str:
        return ", ".join(filter(None, [str(self.method), self.medium, self.hormone]))


def arm_names(arms: Sequence[Arm]) -> tuple[list[str], str]:
    """The two arms named by what differs between them, and what is the same in both (or "")."""
    first, second = arms
    names: list[list[str]] = [[], []]
    same = []
    for field, nothing in (
        ("method", ""),
        ("medium", _("no medium named")),
        ("hormone", _("no rooting hormone")),
    ):
        both = [str(getattr(arm, field)) for arm in (first, second)]
        if both[0] != both[1]:
            for name, word in zip(names, both, strict=True):
                name.append(word or str(nothing))
        elif both[0]:
            same.append(both[0])
    return [", ".join(name) for name in names], ", ".join(same)
