"""The rules that the record keeps, in one list: `audit` tells them by number, the page *How the
book keeps count* shows them to everyone."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Rule(models.IntegerChoices):
    """A number and what it promises."""

    AGREES = 0, _("What a lot says agrees with its variety, its method and its stock plants.")
    NEVER_EDITED = (
        1,
        _(
            "A record is never changed or deleted. One that is wrong is voided, with a reason, and "
            "stays to be seen."
        ),
    )
    CONSERVED = (
        2,
        _(
            "Nothing gets lost unseen: the units stuck are alive in cells, lost or potted up; the "
            "pots made are growing, lost, finished here or gone out. No count is below nothing."
        ),
    )
    ONCE = 3, _("A record that a phone sends twice is in the book once.")
    REFUSED = (
        4,
        _(
            "A record that can't be so is refused with a sentence that says what stands in the "
            "book. From a phone out of reach it is kept for a person to settle, not dropped and "
            "not guessed at."
        ),
    )
    IN_TIME = (
        5,
        _(
            "A record may be of an earlier day, but not of one before the lot was stuck, and not "
            "of one to come."
        ),
    )
    ADDS_UP = 6, _("A lot's counts are what its records add up to, at every moment.")
    NOT_HELD_UP = (
        7,
        _("No record waits for a forecast: where one can't be made, the record is saved without."),
    )
