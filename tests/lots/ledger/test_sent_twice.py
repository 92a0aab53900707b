"""A record sent twice is stored once, and the second send answers as the first did."""

from uuid import uuid4

import pytest

from lots import ledger
from lots.models import Loss, StrikeCheck
from tests.factories import person, stuck_lot
from tests.lots.entries import (
    check,
    counts,
    loss,
    refused,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def anna():
    return person()


def test_a_record_sent_twice_is_stored_once_and_answered_alike(anna):
    lot, uuid = stuck_lot(units=10), uuid4()
    [(first, new)] = ledger.record(lot, [loss(anna, 3, uuid=uuid)])
    [(second, again)] = ledger.record(lot, [loss(anna, 3, uuid=uuid)])
    assert (new, again, second) == (True, False, first)
    assert (Loss.objects.count(), counts(lot)["cells"]) == (1, 7)


def test_the_first_sending_stands_whatever_the_second_says(anna):
    lot, uuid = stuck_lot(units=10), uuid4()
    ledger.record(lot, [loss(anna, 3, uuid=uuid)])
    [(stored, is_new)] = ledger.record(lot, [loss(anna, 9999, uuid=uuid, reason="pest")])
    assert not is_new
    assert (stored.units, stored.reason, counts(lot)["cells"]) == (3, "rot", 7)


def test_what_was_voided_stays_voided_when_it_is_sent_again(anna):
    lot, uuid = stuck_lot(units=10), uuid4()
    [(stored, _)] = ledger.record(lot, [loss(anna, 3, uuid=uuid)])
    ledger.void(stored, by=anna, why="counted twice")
    [(again, is_new)] = ledger.record(lot, [loss(anna, 3, uuid=uuid)])
    assert (again.is_voided, is_new, counts(lot)["cells"]) == (True, False, 10)


def test_old_and_new_records_of_one_sending(anna):
    """The check reached the book, its answer did not: the second send brings the loss as well."""
    lot, uuid = stuck_lot(units=10), uuid4()
    ledger.record(lot, [check(anna, 10, 5, uuid=uuid)])
    answers = ledger.record(lot, [check(anna, 10, 5, uuid=uuid), loss(anna, 2)])
    assert [is_new for _, is_new in answers] == [False, True]
    assert (StrikeCheck.objects.count(), counts(lot)["cells"]) == (1, 8)


def test_a_number_is_one_record_s_over_all_lots_and_kinds(anna):
    lot, other, uuid = stuck_lot(units=10), stuck_lot(units=10), uuid4()
    ledger.record(lot, [loss(anna, 1, uuid=uuid)])
    assert "as something else" in str(refused(lot, check(anna, uuid=uuid)))
    assert "another lot" in str(refused(other, loss(anna, 1, uuid=uuid)))
    assert "another lot" in str(refused(other, check(anna, uuid=uuid)))
