"""What a row has to say in itself, beyond what each of its cells has."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.ledger.refusals import CLOCK_SKEW

type Says = Iterator[tuple[str, str]]


@dataclass(frozen=True)
class Rule:
    """`says` yields a column and a sentence for each thing that is wrong with a row; it is asked
    only if the fields that it `needs` could be read."""

    needs: frozenset[str]
    says: Callable[[object], Says]


def rule(*needs: str) -> Callable[[Callable[[object], Says]], Rule]:
    return lambda says: Rule(frozenset(needs), says)


@rule("least_struck", "pieces_per_pot")
def _no_more_than_a_pot(row) -> Says:
    if row.least_struck > row.pieces_per_pot:
        yield (
            "least_struck",
            _("no more can have to strike than the %(pieces)s of a pot")
            % {"pieces": row.pieces_per_pot},
        )


@rule("from_lot", "origin")
def _own_plants(row) -> Says:
    if row.from_lot and row.origin != "own":
        yield "from_lot", _("only a stock plant of origin “own” names the lot it came from")


@rule("stuck_on", "stuck_units")
def _stuck_or_not(row) -> Says:
    if row.stuck_on is None:
        if row.stuck_units:
            yield "stuck_on", _("units were stuck, so write the day; or leave both cells empty")
    elif row.stuck_on > timezone.localdate():
        yield (
            "stuck_on",
            _("%(day)s has not come yet; a planned lot has no day here")
            % {"day": date_format(row.stuck_on)},
        )
    elif not row.stuck_units:
        yield "stuck_units", _("how many units were stuck? write 1 or more")


@rule("stuck_on", "stuck_by")
def _stuck_by_somebody(row) -> Says:
    if row.stuck_on is None and row.stuck_by:
        yield "stuck_by", _("a lot that is planned was stuck by nobody yet")


def _within_looked_at(column: str) -> Rule:
    def says(row) -> Says:
        if (getattr(row, column) or 0) > row.looked_at:
            yield (
                column,
                _("no more than the %(looked_at)s that were looked at")
                % {"looked_at": row.looked_at},
            )

    return Rule(frozenset({column, "looked_at"}), says)


@rule("pots", "units")
def _a_pot_for_a_unit(row) -> Says:
    if row.pots > row.units:
        says = ngettext(
            "%(units)s unit gives at most 1 pot",
            "%(units)s units give at most as many pots",
            row.units,
        )
        yield "pots", says % {"units": row.units}


@rule("observed_at", "recorded_at")
def _recorded_when_seen_or_later(row) -> Says:
    if row.recorded_at is None:
        return
    if row.recorded_at > timezone.now() + CLOCK_SKEW:
        yield "recorded_at", _not_yet(row.recorded_at)
    elif row.recorded_at < row.observed_at - CLOCK_SKEW:
        yield "recorded_at", _("nothing is recorded before it is seen; see observed_at")


def _told_of_voided(column: str) -> Rule:
    def says(row) -> Says:
        if getattr(row, column) is not None and not row.voided_why:
            yield column, _("a record is voided with a reason: write it in voided_why")

    return Rule(frozenset({column, "voided_why"}), says)


@rule("voided_at")
def _voided_by_now(row) -> Says:
    if row.voided_at is not None and row.voided_at > timezone.now() + CLOCK_SKEW:
        yield "voided_at", _not_yet(row.voided_at)


def _not_yet(moment) -> str:
    when = date_format(timezone.localtime(moment), "DATETIME_FORMAT")
    return _("%(moment)s has not come yet") % {"moment": when}


@rule("settled_at", "settled_by")
def _settled_whole(row) -> Says:
    if (row.settled_at is None) != (row.settled_by is None):
        says = _("what is settled has both settled_at and settled_by; what is open has neither")
        yield "settled_at", says


@rule("every_weeks", "until", "wanted_by")
def _comes_again(row) -> Says:
    if row.until is None:
        return
    if row.every_weeks is None:
        yield "every_weeks", _("it has a last day, so say every how many weeks it is wanted again")
    elif row.until < row.wanted_by:
        yield (
            "until",
            _("no last day can be before the first, %(day)s") % {"day": date_format(row.wanted_by)},
        )


TARGET = (_comes_again,)
POT_SIZE = (_no_more_than_a_pot,)
STOCK_PLANT = (_own_plants,)
LOT = (_stuck_or_not, _stuck_by_somebody)
CHECK = (_within_looked_at("rooted"), _within_looked_at("showing"))
POT_UP = (_a_pot_for_a_unit,)
RECORDED = (
    _recorded_when_seen_or_later,
    _told_of_voided("voided_at"),
    _told_of_voided("voided_by"),
    _voided_by_now,
)
REFUSAL = (_settled_whole,)
