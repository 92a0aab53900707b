"""Side-by-side trials of wedges against whole leaves: planned, and grown for a while."""

from datetime import timedelta

from django.utils import timezone

from lots import ledger
from lots.models import Arm, Stage
from lots.sticking import side_by_side
from tests import factories
from tests.lots.entries import loss, potup


def planned(*, session=None, flats=3, units=12, seed=1, **fields):
    """A trial of wedges against whole leaves."""
    arms = [Arm(method=factories.method(name=name)) for name in ("leaf wedge", "whole leaf")]
    given = {"question": "Wedges or leaves?", "across": 6} | fields
    session = session or factories.session()
    variety = given.pop("variety", None) or factories.variety()
    return side_by_side.plan(session, variety, arms, units=units, flats=flats, seed=seed, **given)


def grow(trial, by, *, a, b, flats=None):
    """Stick all planned lots 60 days ago; in the first so many flats pot up a of A and b of B,
    and lose the rest."""
    on = timezone.localdate() - timedelta(days=60)
    for number, bed in enumerate(side_by_side.beds(trial)):
        for lot in (lot for lot in bed.lots if lot.stage == Stage.PLANNED):
            units = lot.planned_units
            lot = ledger.stick(lot, units=units, on=on, by=by, flat=lot.flat)
            took = a if lot.arm.letter == "A" else b
            if flats is None or number < flats:
                gone = [loss(by, units - took)] if took < units else []
                ledger.record(lot, [*gone, *([potup(by, took, pots=took)] if took else [])])
