"""What a row has to say in itself, beyond what each of its cells has."""

from collections.abc import Iterator

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

type Says = Iterator[tuple[str, str]]


def _pot_size(row) -> Says:
    if row.least_struck > row.pieces_per_pot:
        yield (
            "least_struck",
            _("no more can have to strike than the %(pieces)s of a pot")
            % {"pieces": row.pieces_per_pot},
        )
    if row.least_struck < 1:
        yield "least_struck", _("a full pot needs at least 1 struck piece")


def _stock_plant(row) -> Says:
    if row.from_lot and row.origin != "own":
        yield "from_lot", _("only a stock plant of origin “own” names the lot it came from")


def _lot(row) -> Says:
    if row.stuck_on is None:
        if row.stuck_units:
            yield "stuck_on", _("units were stuck, so write the day; or leave both cells empty")
        if row.stuck_by:
            yield "stuck_by", _("a lot that is planned was stuck by nobody yet")
    elif row.stuck_on > timezone.localdate():
        yield (
            "stuck_on",
            _("%(day)s has not come yet; a planned lot has no day here")
            % {"day": date_format(row.stuck_on)},
        )
    elif not row.stuck_units:
        yield "stuck_units", _("how many units were stuck? write 1 or more")


def _check(row) -> Says:
    for column in ("rooted", "showing"):
        if (getattr(row, column) or 0) > row.looked_at:
            yield (
                column,
                _("no more than the %(looked_at)s that were looked at")
                % {"looked_at": row.looked_at},
            )


def _pot_up(row) -> Says:
    if row.pots > row.units:
        yield "pots", _("%(units)s units give at most as many pots") % {"units": row.units}


RULES = {
    "potsizes": _pot_size,
    "stockplants": _stock_plant,
    "lots": _lot,
    "checks": _check,
    "potups": _pot_up,
}
