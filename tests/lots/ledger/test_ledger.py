"""The ledger: what each verb writes, and what it refuses with a sentence that says why."""

from datetime import datetime, time, timedelta

import pytest
from django.utils import timezone

from lots import ledger
from lots.ledger import Refused
from lots.models import Lot, Move, Stage
from tests.factories import flat, person, place, planned_lot, potsize, stuck_lot
from tests.lots.entries import (
    check,
    counts,
    days_ago,
    finish,
    leave,
    loss,
    move,
    potup,
    refused,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def anna():
    return person()


def test_a_whole_life_in_records(anna):
    lot, bench = stuck_lot(days=200, units=10), place()
    for entry in (
        check(anna, 10, 6, days_ago(160), showing=2),
        loss(anna, 2, days_ago(160)),
        move(anna, bench, days_ago(150)),
        potup(anna, 8, days_ago(140), pots=4),
        loss(anna, 1, days_ago(100), stage="pot", reason="pest"),
        finish(anna, 2, days_ago(20)),
        leave(anna, 1, days_ago(10), to="market"),
        leave(anna, 1, days_ago(9), stage="growing", way="culled"),
    ):
        [(stored, is_new)] = ledger.record(lot, [entry])
        assert is_new
        assert stored.pk
    assert counts(lot) == {
        "cells": 0,
        "cells_lost": 2,
        "units_potted": 8,
        "pots_growing": 0,
        "pots_finished": 1,
        "pots_lost": 1,
        "pots_left": 2,
        "stage": Stage.FINISHED,
    }
    lot.refresh_from_db()
    assert lot.place == bench
    assert lot.struck_on == timezone.localtime(days_ago(160)).date()


def test_a_check_and_its_losses_are_one_write(anna):
    lot = stuck_lot(units=10)
    refusal = refused(lot, check(anna, 10, 4), loss(anna, 11))
    assert refusal.field == "units"
    ledger.record(lot, [check(anna, 10, 4), loss(anna, 6)])
    assert counts(lot)["cells"] == 4


def test_a_direct_stuck_lot_counts_pots(anna):
    lot = stuck_lot(units=12, direct_pot_size=potsize())
    ledger.record(lot, [loss(anna, 2, stage="pot"), finish(anna, 10)])
    assert (counts(lot)["cells"], counts(lot)["pots_lost"], counts(lot)["pots_finished"]) == (
        0,
        2,
        10,
    )
    assert "straight into pots" in str(refused(lot, potup(anna, 1)))
    refusal = refused(lot, loss(anna, 1, stage="cell"))
    assert refusal.field == "stage"
    assert "from pots" in str(refusal)


def test_a_whole_flat_is_moved_or_none_of_it(anna):
    tray, bench = flat(), place()
    one, other = stuck_lot(flat=tray), stuck_lot(flat=tray)
    never = planned_lot(flat=tray)

    def moves(*lots):
        return [(lot, [move(anna, bench)]) for lot in lots]

    with pytest.raises(Refused, match="not stuck yet"):
        ledger.record_together(moves(one, other, never))
    assert not Move.objects.exists()
    answers = ledger.record_together(moves(other, one))
    assert [entry.lot for entry, _ in answers] == [other, one]
    assert {lot.place for lot in Lot.objects.exclude(pk=never.pk)} == {bench}


@pytest.mark.parametrize(
    ("entry", "field", "says"),
    [
        (lambda by: loss(by, 11), "units", ["10 units", "alive in cells", "11"]),
        (lambda by: loss(by, 1, stage="pot"), "units", ["0 units", "growing in pots", "says 1"]),
        (lambda by: check(by, 11), "looked_at", ["10 units", "alive", "11"]),
        (lambda by: potup(by, 11), "units", ["10 units", "alive in cells", "11"]),
        (lambda by: finish(by, 1), "pots", ["0 units", "growing in pots"]),
        (lambda by: leave(by, 1), "pots", ["0 units", "finished pots"]),
        (lambda by: leave(by, 1, stage="growing"), "pots", ["0 units", "growing in pots"]),
    ],
    ids=["loss", "loss of pots", "check", "pot up", "finish", "leave", "leave growing"],
)
def test_more_than_stands_is_refused_with_what_stands(anna, entry, field, says):
    lot = stuck_lot(units=10)
    refusal = refused(lot, entry(anna))
    assert refusal.field == field
    assert str(lot) in str(refusal)
    for fact in says:
        assert fact in str(refusal)


@pytest.mark.parametrize(
    "entry",
    [
        lambda by: loss(by, 0),
        lambda by: loss(by, -1),
        lambda by: loss(by, 1, reason="hail"),
        lambda by: loss(by, 1, stage="bench"),
        lambda by: check(by, 0, 0),
        lambda by: check(by, 5, 6),
        lambda by: check(by, 5, 5, showing=6),
        lambda by: check(by, 5, -1),
        lambda by: potup(by, 2, pots=3),
        lambda by: potup(by, 10**30),
        lambda by: finish(by, 0),
        lambda by: leave(by, 1, way="stolen"),
    ],
    ids=range(12),
)
def test_a_record_that_makes_no_sense_is_refused(anna, entry):
    lot = stuck_lot(units=10)
    assert str(refused(lot, entry(anna)))


def test_a_planned_lot_takes_no_records(anna):
    assert "confirm the sticking first" in str(refused(planned_lot(), loss(anna)))


def test_a_lot_that_was_never_stuck_says_that_its_tag_is_void(anna):
    lot = ledger.not_stuck(planned_lot())
    assert "never stuck" in str(refused(lot, check(anna)))
    assert "void" in str(refused(lot, check(anna)))


def test_nothing_is_seen_before_the_day_of_sticking(anna):
    lot = stuck_lot(days=10)
    start = timezone.make_aware(datetime.combine(lot.stuck_on, time()))
    refusal = refused(lot, check(anna, at=start - timedelta(seconds=1)))
    assert refusal.field == "observed_at"
    assert "before that" in str(refusal)
    ledger.record(lot, [check(anna, at=start)])


def test_a_clock_may_be_ten_minutes_fast_and_no_more(anna, monkeypatch):
    lot, now = stuck_lot(), timezone.now()
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    refusal = refused(lot, check(anna, at=now + timedelta(minutes=10, seconds=1)))
    assert refusal.field == "observed_at"
    assert "clock" in str(refusal)
    ledger.record(lot, [check(anna, at=now + timedelta(minutes=10))])


def test_a_late_record_takes_its_place_among_the_others(anna):
    lot = stuck_lot(days=100, units=10)
    ledger.record(lot, [check(anna, 8, 7, days_ago(20))])
    ledger.record(lot, [loss(anna, 2, days_ago(50))])
    ledger.record(lot, [check(anna, 9, 6, days_ago(60))])
    lot.refresh_from_db()
    assert lot.cells == 8
    assert lot.struck_on == timezone.localtime(days_ago(60)).date()


def test_a_late_record_that_makes_a_later_one_impossible_is_refused_and_names_it(anna):
    lot = stuck_lot(days=100, units=10)
    ledger.record(lot, [potup(anna, 8, days_ago(20))])
    refusal = refused(lot, loss(anna, 3, days_ago(50)))
    assert "pot-up" in str(refusal)
    assert "took 8" in str(refusal)
    assert "only 7" in str(refusal)


def test_a_late_record_of_more_than_stood_on_its_day_is_told_so(anna):
    lot = stuck_lot(days=100, units=10)
    ledger.record(lot, [loss(anna, 6, days_ago(60))])
    refusal = refused(lot, check(anna, 9, 9, days_ago(50)))
    assert str(refusal).startswith("On ")
    assert "4 of" in str(refusal)
