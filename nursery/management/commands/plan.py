"""manage.py plan [--weeks 26] [--as-of DATE] [--seconds 5] [--json]"""

import json as as_text

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lots.supply import plan
from nursery.book import require_book
from nursery.management.commands.forecast import read_day

MOST_WEEKS, MOST_SECONDS = 104, 3600


class Command(BaseCommand):
    help = (
        "Plans what to stick in which week, and from which stock plants, so that what is wanted is "
        "there in time; and says what cannot be met, and what would lift it."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--weeks", type=int, default=plan.WEEKS)
        parser.add_argument("--as-of", metavar="DATE", help="as the book was on a day")
        parser.add_argument("--seconds", type=float, default=plan.SECONDS, help="at most so long")
        parser.add_argument("--json", action="store_true", help="print the plan as JSON")

    def handle(self, *, weeks, as_of, seconds, json, **_options) -> None:
        require_book()
        if not 1 <= weeks <= MOST_WEEKS:
            raise CommandError(_("--weeks: plan 1 to %(most)s weeks.") % {"most": MOST_WEEKS})
        if not 0 < seconds <= MOST_SECONDS:
            raise CommandError(_("--seconds: allow 1 to %(most)s.") % {"most": MOST_SECONDS})
        day = read_day(as_of) if as_of else timezone.localdate()
        if day > timezone.localdate():
            raise CommandError(_("--as-of: %(day)s has not come yet.") % {"day": day})
        found = plan.make(day, weeks, seconds)
        if json:
            self.stdout.write(as_text.dumps(plan.as_json(found), ensure_ascii=False))
        else:
            for line in sentences(found):
                self.stdout.write(line)


def sentences(found: plan.Planned):
    """The plan in words, a line each."""
    for line in found.lines:
        yield _(
            "%(week)s: stick %(units)s of %(variety)s (%(method)s) for %(pots)s by %(day)s."
        ) % {
            "week": plan.iso_week(line.week),
            "units": line.units,
            "variety": line.target.variety,
            "method": line.method,
            "pots": line.target.pots,
            "day": date_format(line.target.wanted_by),
        }
    for short in found.short:
        yield _("%(short)s of %(target)s are short. %(lift)s") % {
            "short": short.short,
            "target": short.target,
            "lift": short.lift,
        }
    if not found.lines and not found.short:
        yield _("Nothing has to be stuck: no target is open, or all are met by what is coming.")
