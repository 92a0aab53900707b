"""manage.py howmany --variety V --method M --want N --by DATE [--pot-size S] [--on DATE]"""

import json as as_text
from datetime import date

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lots import supply
from lots.models import Method, PotSize, Variety
from lots.models.known import Known
from lots.models.lot import MOST_UNITS
from nursery.book import require_book
from nursery.management.commands.forecast import read_day


class Command(BaseCommand):
    help = (
        "Says how many units of a variety to stick, by when, so that enough pots are finished by "
        "a day; and how often dividing by the average take would fall short."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--variety", required=True, metavar="CODE")
        parser.add_argument("--method", required=True, metavar="NAME")
        parser.add_argument("--want", required=True, type=int, metavar="POTS")
        parser.add_argument("--by", required=True, metavar="DATE", help="the day (YYYY-MM-DD)")
        parser.add_argument("--pot-size", metavar="NAME", help="else a pot of one piece")
        parser.add_argument("--on", metavar="DATE", help="the day to stick; else the latest")
        parser.add_argument("--confidence", type=float, default=supply.CONFIDENCE, metavar="SHARE")
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *, variety, method, want, by, pot_size, on, confidence, json, **_) -> None:
        require_book()
        today = timezone.localdate()
        asked = supply.Asked(
            variety=_named(Variety, variety, "--variety"),
            method=_named(Method, method, "--method"),
            want=want,
            by=read_day(by),
            pot_size=_named(PotSize, pot_size, "--pot-size") if pot_size else None,
            on=read_day(on) if on else None,
            confidence=confidence,
        )
        check(asked, today)
        found = supply.how_many(asked, today)
        self.stdout.write(as_text.dumps(as_json(found)) if json else sentence(found))


def _named[K: Known](model: type[K], text: str, option: str) -> K:
    row = model.known_as(text.strip())
    if row is None:
        raise CommandError(
            _("%(option)s: the book has no “%(text)s”.") % {"option": option, "text": text}
        )
    return row


def check(asked: supply.Asked, today: date) -> None:
    """Raises CommandError for what can't be asked."""
    if not 1 <= asked.want <= MOST_UNITS:
        says = _("--want: ask for 1 to %(most)s pots.") % {"most": f"{MOST_UNITS:,}"}
    elif asked.by < today:
        says = _("--by: %(day)s is over; ask for today or later.") % {"day": asked.by}
    elif asked.on and asked.on < today:
        says = _("--on: %(day)s is over; nothing can be stuck on it any more.") % {"day": asked.on}
    elif not 0 < asked.confidence < 1:
        says = _("--confidence: give a share between 0 and 1, like 0.9.")
    else:
        return
    raise CommandError(says)


def as_json(found: supply.Answer) -> dict:
    asked, naive = found.asked, found.naive
    told = {
        "variety": asked.variety.code,
        "method": asked.method.name,
        "pot_size": asked.pot_size.name if asked.pot_size else None,
        "want": asked.want,
        "by": asked.by.isoformat(),
        "confidence": asked.confidence,
        "units": found.units,
        "pieces": found.pieces,
        "stick_by": found.stick_by.isoformat() if found.stick_by else None,
        "chance": found.chance,
        "naive": {
            "units": naive.units,
            "chance": naive.chance,
            "stick_by": naive.stick_by.isoformat(),
        },
        "take": dict(zip(("mean", "p10", "p90"), found.take, strict=True)),
        "days": dict(zip(("p10", "p50", "p90"), found.days, strict=True)),
        "stock": [
            {
                "stock_plant": gift.plant.code,
                "pieces": gift.pieces,
                "ready_on": gift.ready_on.isoformat(),
            }
            for gift in found.gifts
        ],
        "short_of_pieces": found.short,
    }
    return told if found.units else told | {"why": found.why}


def sentence(found: supply.Answer) -> str:
    """The answer in words."""
    asked, naive = found.asked, found.naive
    words = {
        "want": asked.want,
        "by": date_format(asked.by),
        "sure": round(100 * asked.confidence),
        "units": found.units,
        "pieces": found.pieces,
        "naive": naive.units,
        "naive_day": date_format(naive.stick_by),
        "often": round(100 * naive.chance),
        "short": found.short,
    }
    if found.units is None:
        says = _("For %(want)s pots by %(by)s no number will do. ") % words + found.why
    else:
        words["day"] = date_format(found.stick_by)
        words["chance"] = round(100 * found.chance)
        says = _(
            "Stick %(units)s units (%(pieces)s pieces) on %(day)s: in %(chance)s of 100 such cases "
            "%(want)s pots or more are finished by %(by)s."
        )
        says = says % words
        if found.short:
            says += " " + _("Our stock plants are %(short)s pieces short on that day.") % words
    return (
        says
        + " "
        + _(
            "Dividing by the average take gives %(naive)s, stuck on %(naive_day)s: that does in "
            "%(often)s of 100."
        )
        % words
    )
