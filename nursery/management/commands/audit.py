"""manage.py audit [--json]"""

import json
import sys

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from lots import codes
from lots.ledger.audit import audit
from nursery.book import require_book


class Command(BaseCommand):
    help = (
        "Proves over the whole book that units are conserved and that each lot's counts are what "
        "its records add up to; exit status 1 if there is a fault."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--json", action="store_true", help="print the findings as JSON")

    def handle(self, *, json: bool, **_options: object) -> None:
        require_book()
        found = audit()
        if json:
            self.print_json(found)
        else:
            for fault in found.faults:
                where = codes.show(fault.lot) if fault.lot else _("The book")
                self.stdout.write(f"{where}: {fault.says}")
            self.stdout.write(
                _("Lots: %(lots)s; records: %(records)s; faults: %(faults)s.")
                % {"lots": found.lots, "records": found.records, "faults": len(found.faults)}
            )
        if found.faults:
            sys.exit(1)

    def print_json(self, found) -> None:
        faults = [{"lot": each.lot, "rule": each.rule, "says": each.says} for each in found.faults]
        self.stdout.write(
            json.dumps({"records": found.records, "lots": found.lots, "faults": faults})
        )
