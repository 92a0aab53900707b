"""manage.py recount [--dry-run]"""

import sys

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import codes, ledger
from nursery.book import require_book


class Command(BaseCommand):
    help = (
        "Works the counts of the whole book anew from its records, and says of each lot that "
        "stood otherwise what has changed; exit status 1 if the records of a lot don't add up."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would change, and change nothing"
        )

    def handle(self, *, dry_run: bool, **_options: object) -> None:
        require_book()
        if not tell(self.stdout, ledger.recount(dry_run=dry_run), dry_run=dry_run):
            sys.exit(1)


def tell(out, found, *, dry_run: bool) -> bool:
    """Say of each lot what changed, and how many there were; whether all of them add up."""
    mended = stuck_fast = 0
    for each in found:
        out.write(f"{codes.show(each.lot)}: {each.says}")
        mended += each.mended
        stuck_fast += not each.mended
    says = (
        ngettext("%(count)s lot would change.", "%(count)s lots would change.", mended)
        if dry_run
        else ngettext("%(count)s lot changed.", "%(count)s lots changed.", mended)
    )
    out.write(says % {"count": mended} if mended else _("Every count is what its records say."))
    return not stuck_fast
