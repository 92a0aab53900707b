"""Sticking sessions: making one of a plan, and repeating one of an earlier year."""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import islice

from django.db import transaction
from django.db.models import Q
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots import ledger
from lots.models import Cut, Flat, Lot, Stage, StickingSession
from lots.sticking.cutting import number_cuts
from lots.supply.plan import Line


def next_code() -> str:
    """The code of a new session: S and the next number that is free."""
    number = (StickingSession.objects.order_by("-pk").values_list("pk", flat=True).first() or 0) + 1
    while StickingSession.objects.filter(code=f"S{number}").exists():
        number += 1
    return f"S{number}"


@transaction.atomic
def repeat(old: StickingSession, day: date, led_by) -> tuple[StickingSession, list[str]]:
    """A session of the same lines for another day, and a sentence for each thing left out. A trial
    is left out whole: it is drawn once, for its own flats."""
    session = StickingSession.objects.create(
        code=next_code(), day=day, led_by=led_by, disinfectant=old.disinfectant
    )
    left_out = [
        _("“%(trial)s” is a side-by-side trial and was left out; plan another one if you like.")
        % {"trial": trial}
        for trial in old.trials.order_by("pk")
    ]
    lines = old.lots.filter(arm=None).select_related("variety__group", "method")
    for old_lot in lines.order_by("line", "pk"):
        lot = Lot(
            session=session,
            line=old_lot.line,
            variety=old_lot.variety,
            method=old_lot.method,
            medium=old_lot.medium,
            hormone=old_lot.hormone,
            planned_units=old_lot.planned_units,
            pieces_per_unit=old_lot.pieces_per_unit,
            direct_pot_size=old_lot.direct_pot_size,
            first_place=old_lot.first_place,
        )
        cuts = []
        for cut in old_lot.cuts.select_related("stock_plant"):
            if cut.stock_plant.may_be_cut:
                cuts.append(Cut(stock_plant=cut.stock_plant, pieces=cut.pieces))
            else:
                left_out.append(
                    _("%(variety)s: stock plant %(plant)s is %(health)s and was left out.")
                    % {
                        "variety": old_lot.variety,
                        "plant": cut.stock_plant,
                        "health": cut.stock_plant.get_health_display(),
                    }
                )
        _plan(lot, cuts, left_out)
    number_cuts(session)
    return session, left_out


@transaction.atomic
def of_plan(lines: Sequence[Line], day: date, led_by) -> tuple[StickingSession, list[str]]:
    """A session of lines of the plan, with their cuts; and a sentence for each that was refused."""
    session = StickingSession.objects.create(code=next_code(), day=day, led_by=led_by)
    refused = []
    flats = _free_flats()
    for number, line in enumerate(lines, start=1):
        own = list(islice(flats, line.flats))
        lot = Lot(
            session=session,
            line=number,
            variety=line.target.variety,
            method=line.method,
            planned_units=line.units,
            pieces_per_unit=line.pieces // line.units,
            flat=own[0] if own else None,
            note=_note(line, own),
        )
        cuts = [Cut(stock_plant=plant, pieces=pieces) for plant, pieces in line.stock]
        _plan(lot, cuts, refused)
    number_cuts(session)
    return session, refused


def _plan(lot: Lot, cuts: list[Cut], refused: list[str]) -> None:
    """Plan a lot; where the book refuses it, say why among the others."""
    try:
        ledger.plan(lot, cuts)
    except ledger.Refused as refusal:
        refused.append(str(refusal))


def _free_flats() -> Iterator[Flat]:
    """Flats in which nothing stands and for which nothing is planned, in the order of their codes:
    what a person takes from the pile. None are made up where the book's own run out."""
    held = Lot.objects.filter(flat__isnull=False).filter(Q(cells__gt=0) | Q(stage=Stage.PLANNED))
    return iter(Flat.objects.exclude(pk__in=held.values("flat")))


def _note(line: Line, flats: list[Flat]) -> str:
    """What the plan meant a lot for, and in how many flats."""
    words = {
        "pots": line.target.pots,
        "size": line.target.pot_size,
        "day": date_format(line.target.wanted_by),
        "flats": ngettext("%(n)s flat", "%(n)s flats", line.flats) % {"n": line.flats},
    }
    says = _("For %(pots)s of %(size)s by %(day)s; in %(flats)s.") % words
    if len(flats) > 1:
        which = ", ".join(flat.code for flat in flats)
        says = f"{says} " + _("Flats that are free: %(which)s.") % {"which": which}
    return says
