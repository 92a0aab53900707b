"""manage.py refit [--json]"""

import json

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from lots import outlook
from lots.forecast.effects import NoConvergence
from nursery.book import require_book


class Command(BaseCommand):
    help = (
        "Fits the forecasts to the nursery's own lots anew. While the book is served that happens "
        "by itself after new records."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--json", action="store_true", help="print what was found as JSON")

    def handle(self, *, json: bool, **_options: object) -> None:
        require_book()
        try:
            made = outlook.refit()
        except NoConvergence as fault:
            raise CommandError(
                _("The forecasts before stay, for the book could not be fitted: %(fault)s")
                % {"fault": fault}
            ) from fault
        behind = made.fits.lots_behind
        if not any(behind.values()):
            self.stderr.write(
                _("No lot in the book says anything yet: all forecasts are the handbook's.")
            )
        if json:
            self.print_json(made)
            return
        words = behind | {"seconds": f"{made.seconds:.1f}"}
        self.stdout.write(
            _(
                "Fitted in %(seconds)s s. Lots that say when they struck: %(struck)s; when they "
                "finished: %(finished)s; how much of them took: %(take)s."
            )
            % words
        )

    def print_json(self, made: outlook.Refit) -> None:
        fits = made.fits
        days = {
            name: {"sigma": fit.sigma, "tau": fit.taus.total}
            for name, fit in (("struck", fits.struck), ("finished", fits.finished))
        }
        found = {
            "as_of": timezone.localtime(made.read_at).date().isoformat(),
            "seconds": round(made.seconds, 3),
            "lots": fits.lots_behind,
            **days,
            "take": {"rho": fits.take.rho, "tau": fits.take.taus.total},
        }
        self.stdout.write(json.dumps(found))
