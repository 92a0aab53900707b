"""manage.py backup [FILE] [--keep N]"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils.translation import gettext as _

from nursery import backup
from nursery.backup.making import KEEP
from nursery.book import require_book


class Command(BaseCommand):
    help = "Saves the whole book, photos included, in one file, while the book is in use."

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
            default=KEEP,
            metavar="N",
            help=f"how many dated backups to keep in the folder (default {KEEP})",
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
            _("%(path)s: %(lots)s lots, %(photos)s photos, %(size)s MB; read back and sound.")
            % {
                "path": made.path,
                "lots": made.manifest.rows["lots_lot"],
                "photos": made.manifest.photos,
                "size": f"{made.size / 1e6:.1f}",
            }
        )
        for says in made.manifest.faults:
            self.stderr.write(_("The book itself has a fault: %(says)s") % {"says": says})
