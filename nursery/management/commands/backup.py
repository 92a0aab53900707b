"""manage.py backup [FILE] [--keep N]"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils.translation import gettext as _

from nursery import backup
from nursery.backup import store
from nursery.backup.keeping import DAYS, MONTHS, WEEKS
from nursery.book import require_book


class Command(BaseCommand):
    help = (
        "Saves the whole book, photos included, while the book is in use: in one file, or in the "
        "data folder, where all backups share their photos."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "file",
            nargs="?",
            type=Path,
            metavar="FILE",
            help="the file to write, or a folder; else a dated file in the data folder",
        )
        parser.add_argument(
            "--keep",
            type=int,
            default=DAYS,
            metavar="N",
            help=(
                f"how many to keep of the dated backups in a folder (default {DAYS}); in the data "
                f"folder the newest of so many days, besides that of {WEEKS} weeks and {MONTHS} "
                "months"
            ),
        )

    def handle(self, *, file: Path | None, keep: int, **_options: object) -> None:
        if keep < 1:
            raise CommandError(_("--keep has to be 1 or more."), returncode=2)
        require_book()
        try:
            made = backup.backup(file, keep=keep)
        except (backup.BackupFault, OSError, DatabaseError) as fault:
            raise CommandError(
                _("No backup was made: %(fault)s") % {"fault": fault}, returncode=1
            ) from fault
        self.stdout.write(
            _("%(path)s: lots: %(lots)s, photos: %(photos)s, %(size)s MB; read back and sound.")
            % {
                "path": made.path,
                "lots": made.manifest.rows["lots_lot"],
                "photos": made.manifest.photos,
                "size": f"{made.size / 1e6:.1f}",
            }
        )
        if made.manifest.beside and made.manifest.photos:
            self.stdout.write(
                _("Its photos lie in %(folder)s; copy that folder wherever you copy it.")
                % {"folder": made.path.parent / store.NAME}
            )
        for says in made.manifest.faults:
            self.stderr.write(_("The book itself has a fault: %(says)s") % {"says": says})
