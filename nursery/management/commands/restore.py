"""manage.py restore FILE"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils.translation import gettext as _

from nursery import backup


class Command(BaseCommand):
    help = (
        "Puts a backup in the place of the book, which is kept beside. The backup is checked "
        "before anything is touched. Stop the server first."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument(
            "--lacking-photos",
            action="store_true",
            help="restore the book although photos beside the backup are missing",
        )

    def handle(self, *, file: Path, lacking_photos: bool, **_options: object) -> None:
        try:
            done = backup.restore(file, lacking_photos=lacking_photos)
        except (backup.BackupFault, OSError, DatabaseError) as fault:
            raise CommandError(
                _("The restore failed: %(fault)s") % {"fault": fault}, returncode=1
            ) from fault
        self.stdout.write(
            _("The book is as it was on %(moment)s. Lots: %(lots)s, photos: %(photos)s.")
            % {
                "moment": done.manifest.made_at,
                "lots": done.manifest.rows["lots_lot"],
                "photos": done.manifest.photos - len(done.lacking),
            }
        )
        if done.kept:
            self.stdout.write(
                _("The book that was here before is kept in %(folder)s.") % {"folder": done.kept}
            )
        for name in done.lacking:
            self.stderr.write(_("This photo is missing: %(name)s") % {"name": name})
        for says in done.manifest.faults:
            self.stderr.write(_("It had a fault when it was saved: %(says)s") % {"says": says})
