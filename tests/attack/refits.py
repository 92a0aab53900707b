"""Run on the attacked book itself, as a process of its own: `python -m tests.attack.refits SECONDS`
fits it again and again, and says how often."""

import sys
import time

import django

django.setup()

from lots import outlook  # noqa: E402
from lots.models import Forecast  # noqa: E402


def refit(seconds: int) -> int:
    """Forecasts at sticking are missing each time, as in a book that came in by files."""
    end, made = time.monotonic() + seconds, 0
    while time.monotonic() < end:
        Forecast.objects.filter(moment=Forecast.Moment.STICKING).delete()
        outlook.refit()
        made += 1
    return made


if __name__ == "__main__":
    sys.stdout.write(str(refit(int(sys.argv[1]))))
