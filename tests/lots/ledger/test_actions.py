"""What one action wrote is taken back together, or not at all."""

import pytest

from lots import ledger
from lots.ledger import Refused
from lots.models import Lot, Move
from tests.factories import flat, person, place, stuck_lot
from tests.lots.entries import check, counts, days_ago, finish, loss, move, number_of_records, potup

pytestmark = pytest.mark.django_db


@pytest.fixture
def anna():
    return person()


def test_a_check_and_its_losses_are_taken_back_together(anna):
    lot = stuck_lot(units=20)
    before = counts(lot)
    [(first, _), *_] = ledger.record_together(
        [(lot, [check(anna, 20, 12), loss(anna, 3), loss(anna, 2, reason="pest")])]
    )
    other = ledger.record(lot, [loss(anna, 1)])[0][0]
    voided = ledger.void_action(first, by=anna, why="wrong lot")
    assert len(voided) == 3
    assert {entry.voided_why for entry in voided} == {"wrong lot"}
    assert counts(lot) == before | {"cells": 19, "cells_lost": 1}
    other.refresh_from_db()
    assert (other.action, other.is_voided) == (None, False)


def test_a_flat_of_twelve_goes_back_where_it_stood(anna):
    tray, bench, yard = flat(), place(), place()
    lots = [stuck_lot(flat=tray, place=bench) for _ in range(12)]
    answers = ledger.record_together([(lot, [move(anna, yard, what="cells")]) for lot in lots])
    assert len({entry.action for entry, _new in answers}) == 1
    assert set(Lot.objects.values_list("place", flat=True)) == {yard.pk}
    ledger.void_action(answers[5][0], by=anna, why="another flat")
    assert set(Lot.objects.values_list("place", flat=True)) == {bench.pk}
    assert not Move.objects.filter(voided_at=None).exists()
    assert ledger.void_action(answers[0][0], by=anna, why="again") == []


def test_none_of_it_is_taken_back_when_one_lot_needs_its_part(anna):
    """The sentence names the lot, since it may be another than the one that is open."""
    lots = [stuck_lot(days=90, units=10) for _ in range(3)]
    answers = ledger.record_together([(lot, [potup(anna, 10, days_ago(40))]) for lot in lots])
    ledger.record(lots[1], [finish(anna, 4, days_ago(9))])
    before = [counts(lot) for lot in lots]
    with pytest.raises(Refused, match=rf"{lots[1]}: This doesn't fit the finish"):
        ledger.void_action(answers[0][0], by=anna, why="mistyped")
    assert [counts(lot) for lot in lots] == before
    assert all(ledger.written_with(entry) for entry, _new in answers)


def test_a_record_of_its_own_is_an_action_of_its_own(anna):
    lot = stuck_lot(units=10)
    [(entry, _)] = ledger.record_together([(lot, [loss(anna, 4)])])
    assert ledger.written_with(entry) == [entry]
    ledger.void_action(entry, by=anna, why="mistyped")
    assert counts(lot)["cells"] == 10
    assert number_of_records() == 1


def test_one_record_of_an_action_can_be_taken_back_alone(anna):
    lot = stuck_lot(units=20)
    answers = ledger.record_together([(lot, [check(anna, 20, 12), loss(anna, 3)])])
    ledger.void(answers[1][0], by=anna, why="they live")
    assert counts(lot)["cells"] == 20
    assert ledger.written_with(answers[1][0]) == [answers[0][0]]
