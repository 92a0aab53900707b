"""What stands on the nursery's tags beyond the facts of a lot."""

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models import CropGroup

MEMBER_STATE = RegexValidator(r"^[A-Z]{2}$", _("Two capital letters, like NL."))


class TagSettings(models.Model):
    """What stands on the nursery's tags beyond the facts of a lot: one row for all."""

    nursery_line = models.CharField(
        _("the nursery's own line"),
        max_length=60,
        blank=True,
        help_text=_("In small print on every tag: a name, a place, a telephone number."),
    )
    place = models.BooleanField(
        _("say on the tags of lots and stock plants at which place they stand"),
        default=False,
        help_text=_("A lot that is moved shows its old place until its tag is printed again."),
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
