"""What recent outcomes ask, in sentences: did something change?"""

from django.utils.dates import MONTHS
from django.utils.translation import gettext_lazy

from lots import outlook
from lots.outlook.noticing import Noticed

# By stage, and whether the lots lie below what was expected.
SENTENCES = {
    ("struck", True): gettext_lazy(
        "Since about %(month)s lots strike sooner than expected (%(some)s of %(all)s)."
    ),
    ("struck", False): gettext_lazy(
        "Since about %(month)s lots strike later than expected (%(some)s of %(all)s)."
    ),
    ("finished", True): gettext_lazy(
        "Lots stuck since about %(month)s finish sooner than expected (%(some)s of %(all)s)."
    ),
    ("finished", False): gettext_lazy(
        "Lots stuck since about %(month)s finish later than expected (%(some)s of %(all)s)."
    ),
    ("take", True): gettext_lazy(
        "Of lots stuck since about %(month)s fewer take than expected (in %(some)s of %(all)s)."
    ),
    ("take", False): gettext_lazy(
        "Of lots stuck since about %(month)s more take than expected (in %(some)s of %(all)s)."
    ),
}


def sentences() -> list[str]:
    """What was noticed and is to be asked about."""
    return [_sentence(of) for of in outlook.noticing.asked()]


def _sentence(of: Noticed) -> str:
    return str(SENTENCES[of.stage, of.low]) % {
        "month": MONTHS[of.since.month],
        "some": of.to_that_side,
        "all": of.lots,
    }
