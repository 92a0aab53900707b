"""manage.py exportcsv DIR"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from lots import csvbook
from nursery.book import require_book


class Command(BaseCommand):
    help = "Writes the whole book as CSV files into a folder; importcsv takes them back."

    def add_arguments(self, parser) -> None:
        parser.add_argument("folder", metavar="DIR", type=Path, help="made if it isn't there")

    def handle(self, *, folder: Path, **_options: object) -> None:
        require_book()
        try:
            csvbook.export(folder, lambda name, rows: self.stdout.write(f"{name}: {rows}"))
        except OSError as fault:
            raise CommandError(
                _("The book could not be exported: %(fault)s") % {"fault": fault}
            ) from fault
