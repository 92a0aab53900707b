"""Passwords and PINs: made up by the book, and refused where a stranger would try them first."""

import re
import secrets
from itertools import batched, pairwise
from urllib.parse import urlsplit

from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

EASY_TO_READ = "abcdefghjkmnpqrstuvwxyz23456789"  # without i, l, o, 0 and 1
GROUPS, IN_A_GROUP = 3, 4  # 31 ** 12 of them: 59 bits
# What a stranger would try first at a nursery's book.
TRIED_FIRST = ("strikebook", "nursery", "greenhouse", "glasshouse", "cuttings", "cutting")
LEAST_LEFT = 4  # letters and digits beside the words above
LEAST_PIN, MOST_PIN = 4, 8


def made_up() -> str:
    """A first password, easy to read off a slip of paper and to type."""
    letters = [secrets.choice(EASY_TO_READ) for _n in range(GROUPS * IN_A_GROUP)]
    return "-".join("".join(group) for group in batched(letters, IN_A_GROUP))


class NotTheNurserysName:
    """Django's password validator: refuses the nursery's own names with little beside them."""

    def validate(self, password: str, user: object = None) -> None:
        host = urlsplit(settings.NURSERY_ADDRESS).hostname or ""
        names = {*TRIED_FIRST, *(part for part in host.split(".") if len(part) >= LEAST_LEFT)}
        left = password.casefold()
        for name in sorted(names, key=len, reverse=True):
            left = left.replace(name, "")
        had_a_name = len(left) < len(password)
        if had_a_name and len(re.findall(r"\w", left)) < LEAST_LEFT:
            raise ValidationError(
                _("A stranger would try the nursery’s own name first; choose another password."),
                code="nurserys_name",
            )

    def get_help_text(self) -> str:
        return _("It can’t be the nursery’s own name with a number.")


def check_pin(pin: str) -> None:
    """Raise ValidationError, saying what would do, for a PIN that is none or is guessed at once."""
    if not re.fullmatch(rf"[0-9]{{{LEAST_PIN},{MOST_PIN}}}", pin):
        raise ValidationError(_("A PIN is 4 to 8 digits."))
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        raise ValidationError(
            _("This PIN is guessed at once, like 1111 or 1234; choose one without such a pattern.")
        )
