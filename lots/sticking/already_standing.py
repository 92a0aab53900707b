"""A lot that stood on the benches before the book knew of it: what was stuck when, and what there
is of it now. What became of it between is known by halves, and written down as seen today."""

from dataclasses import dataclass
from datetime import timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lots import ledger
from lots.models import Finish, Leave, Loss, Lot, PotSize, PotUp, Record


@dataclass(frozen=True)
class Now:
    """What there is of it: alive in cells, pots that grow and pots that are finished, of one size;
    and finished pots that have gone out."""

    cells: int = 0
    growing: int = 0
    finished: int = 0
    gone: int = 0
    size: PotSize | None = None

    @property
    def pots(self) -> int:
        return self.growing + self.finished + self.gone


@transaction.atomic
def enter(lot: Lot, now: Now, *, by) -> Lot:
    """Put an unsaved lot (with stuck_units, stuck_on and stuck_by) into the book as it stands: what
    is neither in cells nor in pots was lost, for reasons nobody knows. Raises Refused."""
    units, on, who = lot.stuck_units, lot.stuck_on, lot.stuck_by
    potted = units_for(now, lot.pieces_per_unit)
    lost = units - now.cells - potted
    if now.pots and now.size is None:
        raise ledger.Refused(_("Which size are the pots?"), "pot_size")
    if lost < 0:
        raise ledger.Refused(
            _("%(units)s were stuck, and %(cells)s in cells and %(potted)s in pots are more.")
            % {"units": units, "cells": now.cells, "potted": potted},
            "units",
        )
    lot.stuck_units = lot.stuck_on = lot.stuck_by = None
    lot.planned_units = units
    lot = ledger.plan(lot)
    lot = ledger.stick(
        lot, units=units, on=on, by=who, flat=lot.flat, place=lot.first_place, confirmed_by=by
    )
    records = _records(now, potted, lost)
    moment = timezone.now() - timedelta(seconds=len(records))
    for n, record in enumerate(records):
        record.by, record.observed_at = by, moment + timedelta(seconds=n)
    if records:
        ledger.record_together([(lot, records)])
    return lot


def units_for(now: Now, pieces_per_unit: int) -> int:
    """The units that went into the pots: as many as their size takes."""
    if not now.size or not now.pots:
        return now.pots
    return max(now.pots, -(-now.pots * now.size.pieces_per_pot // pieces_per_unit))


def _records(now: Now, potted: int, lost: int) -> list[Record]:
    ready = now.finished + now.gone
    found: list[Record] = []
    if lost:
        found.append(Loss(units=lost, reason=Loss.Reason.OTHER, stage=Loss.Where.CELL))
    if now.pots:
        found.append(PotUp(units=potted, pots=now.pots, pot_size=now.size))
    if ready:
        found.append(Finish(pots=ready, pot_size=now.size))
    if now.gone:
        found.append(Leave(pots=now.gone, stage=Leave.Where.FINISHED, way=Leave.Way.SOLD))
    return found
