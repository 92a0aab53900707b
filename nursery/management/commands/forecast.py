"""manage.py forecast [LOT…] [--as-of DATE] [--json]"""

import json
from datetime import date

from django.core.management.base import BaseCommand, CommandError
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import codes, outlook
from lots.models import Lot
from lots.models.days import YEARS
from nursery.book import require_book


class Command(BaseCommand):
    help = (
        "Says of each lot when it is likely to strike and to finish, and how much of it takes: "
        "from the nursery's own lots, over the handbook where there are none."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("lots", nargs="*", metavar="LOT", help="codes of lots; else all")
        parser.add_argument(
            "--as-of",
            metavar="DATE",
            help="use only what had been seen by the end of this day (YYYY-MM-DD)",
        )
        parser.add_argument("--json", action="store_true", help="print the forecasts as JSON")

    def handle(self, *, lots: list[str], as_of: str | None, json: bool, **_options) -> None:
        require_book()
        day = read_day(as_of) if as_of else None
        told = list(outlook.lot_forecasts(lots_of(lots), day))
        if not told:
            self.stderr.write(_("No lot is planned or stuck, so there is nothing to forecast."))
        elif not any(each.own for each in told):
            self.stderr.write(
                _("None of the nursery's own lots stand behind this: it is the handbook's.")
            )
        if json:
            self.print_json(told)
        else:
            self.print_lines(told)

    def print_json(self, told: list[outlook.LotForecast]) -> None:
        self.stdout.write(json.dumps([as_json(each) for each in told]))

    def print_lines(self, told: list[outlook.LotForecast]) -> None:
        for each in told:
            self.stdout.write(sentence(each))


def read_day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
        if day.year not in YEARS:
            raise ValueError(text)
        return day
    except ValueError as fault:
        raise CommandError(
            _("%(text)s is not a day: write it as YYYY-MM-DD, like 2026-03-31.") % {"text": text},
            returncode=2,
        ) from fault


def lots_of(texts: list[str]) -> QuerySet[Lot]:
    """The lots of these codes, or all. Raises CommandError for a code that no lot has."""
    if not texts:
        return Lot.objects.all()
    wanted = {}
    for text in texts:
        try:
            wanted[codes.read(text)] = text
        except codes.NotACode as fault:
            raise CommandError(
                _("%(text)s is not the code of a lot: look at its tag again.") % {"text": text}
            ) from fault
    found = Lot.objects.filter(code__in=wanted)
    missing = set(wanted) - set(found.values_list("code", flat=True))
    if missing:
        raise CommandError(
            _("No lot in this book has the code %(code)s.") % {"code": codes.show(min(missing))}
        )
    return found


def as_json(each: outlook.LotForecast) -> dict:
    lot = each.lot
    return {
        "lot": lot.code,
        "variety": lot.variety_code,
        "method": lot.method_name,
        "stuck_on": lot.stuck_on.isoformat() if lot.stuck_on else None,
        "planned": lot.stuck_on is None,
        "struck": _days(each.struck),
        "finished": _days(each.finished),
        "take": dict(zip(("mean", "p10", "p90"), each.take, strict=True)),
        "units": dict(zip(("p10", "p50", "p90"), each.units, strict=True)),
        "lots_behind": each.lots_behind,
        "basis": "own" if each.own else "handbook",
    }


def _days(days: outlook.StageDays) -> dict[str, str | None]:
    return {
        name: day.isoformat() if (day := getattr(days, name)) else None
        for name in ("p10", "p50", "p90", "seen")
    }


def sentence(each: outlook.LotForecast) -> str:
    """A forecast in a line."""
    low, middle, high = each.units
    behind = each.lots_behind["finished"]
    words = {
        "lot": codes.show(each.lot.code),
        "struck": _between(each.struck, _("struck on %(day)s"), _("strikes %(low)s to %(high)s")),
        "finished": _between(
            each.finished, _("finished on %(day)s"), _("finishes %(low)s to %(high)s")
        ),
        "middle": middle,
        "low": low,
        "high": high,
        "stuck": each.lot.units,
        "coming": each.to_come[0],
        "fewest": each.to_come[1],
        "most": each.to_come[2],
        "here": each.lot.pots_finished,
        "basis": (
            ngettext("%(n)s own lot behind it", "%(n)s own lots behind it", behind) % {"n": behind}
            if each.own
            else _("by the handbook")
        ),
    }
    return (
        _(
            "%(lot)s: %(struck)s; %(finished)s; %(middle)s (%(low)s–%(high)s) of %(stuck)s units "
            "take; %(coming)s (%(fewest)s–%(most)s) pots to come, %(here)s finished here; %(basis)s"
        )
        % words
    )


def _between(days: outlook.StageDays, seen: str, likely: str) -> str:
    if days.seen:
        return seen % {"day": date_format(days.seen)}
    return likely % {"low": date_format(days.p10), "high": date_format(days.p90)}
