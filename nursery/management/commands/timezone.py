"""manage.py timezone [--set ZONE] [--dry-run]"""

import sys
from difflib import get_close_matches
from zoneinfo import ZoneInfo, available_timezones

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from lots import codes, ledger
from lots.ledger.audit import audit
from nursery import clock
from nursery.book import require_book
from nursery.management.commands.recount import tell

OUT_OF_TIME = 5  # the rule of the record that says it


class Command(BaseCommand):
    help = (
        "Tells the time zone that the book goes by, or has it go by another: the moments of its "
        "records stay, and the days on which they fall, near midnight, are worked out anew. "
        "Stop the server first."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "--set", metavar="ZONE", dest="zone", help="the zone to go by, like Europe/Lisbon"
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would change, and change nothing"
        )

    def handle(self, *, zone: str | None, dry_run: bool, **_options: object) -> None:
        require_book()
        before = clock.name()
        if zone is None:
            self.stdout.write(_("This book goes by %(zone)s.") % {"zone": before})
            return
        if zone not in available_timezones():
            raise CommandError(_no_zone(zone), returncode=2)
        words = {"before": before, "zone": zone}
        if dry_run:
            self.stdout.write(_("From %(before)s to %(zone)s, with nothing changed yet:") % words)
            with timezone.override(ZoneInfo(zone)):
                whole = self.tell(dry_run=True)
        else:
            clock.settle(ZoneInfo(zone))
            self.stdout.write(
                _("This book goes by %(zone)s now, and by %(before)s no longer.") % words
            )
            whole = self.tell(dry_run=False)
        if not whole:
            sys.exit(1)

    def tell(self, *, dry_run: bool) -> bool:
        """Say what the change of zone makes of the lots; whether all are whole after it."""
        whole = tell(self.stdout, ledger.recount(dry_run=dry_run), dry_run=dry_run)
        for fault in audit().faults:
            if fault.rule == OUT_OF_TIME and fault.lot:
                whole = False
                says = _("%(lot)s: %(says)s Put right the day it was stuck, on its page.")
                self.stdout.write(says % {"lot": codes.show(fault.lot), "says": fault.says})
        return whole


def _no_zone(zone: str) -> str:
    like = next(iter(get_close_matches(zone, available_timezones(), n=1)), "Europe/Lisbon")
    return _("There is no time zone %(zone)s; one is written like %(like)s.") % {
        "zone": zone,
        "like": like,
    }
