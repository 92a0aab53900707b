"""Voiding: the one way to take a record back. It stays, struck through, with the reason."""

from datetime import timedelta

import pytest
from django.utils import timezone

from lots import ledger
from lots.ledger import Refused
from lots.models import Finish, Leave, Loss, Lot, Move, PotUp, StrikeCheck
from tests.factories import person, place, potsize, stuck_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def anna():
    return person()


def logged(lot, kind, days=0, **fields):
    entry = kind(observed_at=timezone.now() - timedelta(days=days), **fields)
    return ledger.record(lot, [entry])[0][0]


def cells(lot):
    return Lot.objects.get(pk=lot.pk).cells


def test_a_voided_record_stays_with_its_reason_and_counts_no_more(anna):
    lot = stuck_lot(units=10)
    entry = logged(lot, Loss, by=anna, units=4, stage="cell", reason="rot")
    bert = person()
    ledger.void(entry, by=bert, why="  wrong flat ")
    entry.refresh_from_db()
    assert (entry.voided_by, entry.voided_why, entry.is_voided) == (bert, "wrong flat", True)
    assert (entry.units, entry.by) == (4, anna)
    assert cells(lot) == 10


def test_a_void_wants_a_reason(anna):
    lot = stuck_lot(units=10)
    entry = logged(lot, Loss, by=anna, units=4, stage="cell", reason="rot")
    with pytest.raises(Refused) as refusal:
        ledger.void(entry, by=anna, why="  ")
    assert refusal.value.field == "why"
    assert cells(lot) == 6


def test_voiding_twice_keeps_the_first_reason(anna):
    entry = logged(stuck_lot(), Loss, by=anna, units=4, stage="cell", reason="rot")
    ledger.void(entry, by=anna, why="first")
    again = ledger.void(entry, by=person(), why="second")
    assert (again.voided_by, again.voided_why) == (anna, "first")


def test_a_void_that_would_break_the_sum_names_the_record_that_stands_on_it(anna):
    lot = stuck_lot(days=100, units=10)
    potted = logged(lot, PotUp, 50, by=anna, units=10, pots=10, pot_size=potsize())
    finished = logged(lot, Finish, 20, by=anna, pots=6)
    left = logged(lot, Leave, 10, by=anna, pots=5)
    with pytest.raises(Refused, match=r"doesn't fit the finish.*took 6.*only 0"):
        ledger.void(potted, by=anna, why="mistyped")
    with pytest.raises(Refused, match=r"doesn't fit the leave.*took 5.*only 0"):
        ledger.void(finished, by=anna, why="mistyped")
    for entry in (left, finished, potted):
        ledger.void(entry, by=anna, why="mistyped")
    lot.refresh_from_db()
    assert (lot.cells, lot.pots_made, lot.pots_left) == (10, 0, 0)


def test_voiding_goes_back_to_what_stood_before(anna):
    first, second = place(), place()
    lot = stuck_lot(days=60, units=10, place=first)
    moved = logged(lot, Move, 20, by=anna, place=second)
    checked = logged(lot, StrikeCheck, 10, by=anna, looked_at=10, rooted=9)
    lot.refresh_from_db()
    assert (lot.place, lot.stage) == (second, "struck")
    ledger.void(moved, by=anna, why="another flat")
    ledger.void(checked, by=anna, why="another flat")
    lot.refresh_from_db()
    assert (lot.place, lot.stage, lot.struck_on, lot.seen_on) == (first, "stuck", None, None)
