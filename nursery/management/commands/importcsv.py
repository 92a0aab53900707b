"""manage.py importcsv FILE… [--dry-run]"""

import sys

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import csvbook, outlook
from lots.forecast.effects import NoConvergence
from nursery.book import require_book

MOST_LISTED = 100


class Command(BaseCommand):
    help = (
        "Brings CSV files or XLSX workbooks into the book: all of them, or nothing and a list of "
        "every fault with file, row, column and what would be right."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "files",
            nargs="+",
            metavar="FILE",
            help="a CSV file named after its table (varieties.csv …), a workbook with sheets so "
            "named, or a folder that holds such CSV files",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would be added, and add nothing"
        )

    def handle(self, *, files: list[str], dry_run: bool, **_options: object) -> None:
        require_book()
        try:
            found = csvbook.find(files)
            report = csvbook.import_files(found, dry_run=dry_run, progress=self.show_progress())
        except csvbook.NoFiles as fault:
            raise CommandError(str(fault), returncode=2) from fault
        except (OSError, OperationalError) as fault:
            raise CommandError(
                _("Nothing was imported: %(fault)s") % {"fault": fault}, returncode=1
            ) from fault
        if not report.good:
            self.list_faults(report)
            sys.exit(1)
        added = _("%(file)s: %(count)s added")
        if dry_run:
            added = _("%(file)s: %(count)s would be added")
        for name in {**report.added, **report.already}:
            count, already = report.added.get(name, 0), report.already.get(name, 0)
            line = added % {"file": f"{name}.csv", "count": count}
            if already:
                line += ", " + _("%(count)s already there") % {"count": already}
            self.stdout.write(line)
        if not dry_run and any(report.added.values()):
            self.renew_forecasts()

    def renew_forecasts(self) -> None:
        try:
            outlook.refit()
        except NoConvergence as fault:
            self.stderr.write(
                _("All of it is in the book, but the forecasts could not be made anew: %(fault)s")
                % {"fault": fault}
            )
        else:
            self.stdout.write(_("Forecasts made anew from the whole book."))

    def show_progress(self) -> csvbook.Progress:
        """One line on a terminal that says how far it is; nothing where nobody watches."""
        if not self.stderr.isatty():
            return lambda doing, done, of: None

        def show(doing: str, done: int, of: int | None) -> None:
            share = f" {done:,}" + (f" / {of:,}" if of else "")
            self.stderr.write(f"\r\033[K{doing}{share}", ending="")
            self.stderr.flush()

        return show

    def list_faults(self, report: csvbook.Report) -> None:
        for fault in report.faults[:MOST_LISTED]:
            self.stderr.write(str(fault))
        if report.faults_count > MOST_LISTED:
            self.stderr.write(
                _("… and %(count)s more.") % {"count": report.faults_count - MOST_LISTED}
            )
        self.stderr.write(
            ngettext(
                "Nothing was imported: there is %(count)s fault.",
                "Nothing was imported: there are %(count)s faults.",
                report.faults_count,
            )
            % {"count": report.faults_count}
        )
