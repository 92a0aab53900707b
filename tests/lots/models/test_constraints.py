"""Rule 2, held by the database itself: units and pots are conserved, no count is negative, and
what a record says makes sense, whoever writes past the ledger."""

from datetime import timedelta

import pytest
from django.db import DataError, IntegrityError, connection, transaction
from django.db.models import F
from django.utils import timezone

from lots import ledger
from lots.models import (
    Cut,
    Finish,
    Leave,
    Limit,
    Loss,
    Lot,
    Plan,
    PotUp,
    StrikeCheck,
    Wish,
)
from lots.models.lot import COUNTS
from tests.factories import (
    person,
    place,
    planned_lot,
    potsize,
    stock_plant,
    stuck_lot,
    target,
    variety,
)
from tests.lots.entries import check, finish, leave, loss, move, potup

pytestmark = pytest.mark.django_db


def a_lot_with_everything():
    lot, by = stuck_lot(units=20), person()
    ledger.record(lot, [loss(by, 2), potup(by, 10, pots=8), finish(by, 4), leave(by, 1)])
    return lot


def held(lot, **change):
    """The database refuses the change and the lot stands as before."""
    rows = Lot.objects.filter(pk=lot.pk)
    before = rows.values().get()
    with pytest.raises((IntegrityError, DataError)), transaction.atomic():
        rows.update(**change)
    assert rows.values().get() == before


def written_to_the_end(row):
    """With the checks that otherwise wait for the end of the transaction."""
    row.save()
    connection.check_constraints()


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("by", [1, -1, -100])
def test_no_count_of_a_lot_can_be_changed_alone(count, by):
    held(a_lot_with_everything(), **{count: F(count) + by})


@pytest.mark.parametrize("count", COUNTS)
def test_no_count_of_a_direct_stuck_lot_can_be_changed_alone(count):
    lot = stuck_lot(units=20, direct_pot_size=potsize())
    held(lot, **{count: F(count) + 1})


@pytest.mark.parametrize("count", COUNTS)
def test_a_planned_lot_counts_nothing(count):
    held(planned_lot(), **{count: 1})


def test_counts_that_cancel_out_below_nothing_are_refused():
    held(stuck_lot(units=20), cells=-1, cells_lost=21)


@pytest.mark.parametrize(
    "change",
    [
        {"stuck_units": None},
        {"stuck_units": 0},
        {"stuck_on": None},
        {"stuck_on": None, "stuck_units": None},
        {"stage": "planned"},
        {"stage": "not stuck"},
        {"stage": "asleep"},
        {"planned_units": 0},
        {"pieces_per_unit": 0},
        {"stuck_units": F("stuck_units") + 1},
    ],
    ids=str,
)
def test_a_stuck_lot_stays_a_stuck_lot(change):
    held(a_lot_with_everything(), **change)


def test_a_lot_with_cells_can_not_be_made_direct_stuck_nor_the_other_way_round():
    held(a_lot_with_everything(), direct_pot_size=potsize())
    held(stuck_lot(direct_pot_size=potsize()), direct_pot_size=None)


def test_only_a_lot_of_cells_and_pots_stands_at_two_places():
    lot, elsewhere = a_lot_with_everything(), place()
    held(lot, place=elsewhere, pots_place=elsewhere)
    held(stuck_lot(), pots_place=elsewhere)
    held(stuck_lot(direct_pot_size=potsize()), pots_place=elsewhere)
    Lot.objects.filter(pk=lot.pk).update(pots_place=elsewhere)


def test_two_lots_have_two_codes():
    held(planned_lot(), code=planned_lot().code)


def test_bulk_created_lots_are_held_to_the_same():
    lot = a_lot_with_everything()
    lot.pk, lot.code, lot.cells = None, "7K3QFY", 99
    with pytest.raises(IntegrityError, match="conserved"), transaction.atomic():
        Lot.objects.bulk_create([lot])


@pytest.mark.parametrize(
    "entry",
    [
        lambda by: check(by, 0, 0),
        lambda by: check(by, 5, 6),
        lambda by: check(by, 5, 5, showing=6),
        lambda by: check(by, -5, -6),
        lambda by: loss(by, 0),
        lambda by: loss(by, -1),
        lambda by: loss(by, 1, stage="flat"),
        lambda by: loss(by, 1, reason="hail"),
        lambda by: potup(by, 1, pots=2),
        lambda by: PotUp(units=0, pots=0, pot_size=potsize(), by=by, observed_at=timezone.now()),
        lambda by: finish(by, 0),
        lambda by: leave(by, 0),
        lambda by: leave(by, 1, stage="cells"),
        lambda by: leave(by, 1, way="eaten"),
        lambda by: move(by, place(), what="flat"),
    ],
    ids=range(15),
)
def test_a_senseless_record_written_past_the_ledger(entry):
    by = person()
    made = entry(by)
    made.lot = a_lot_with_everything()
    before = type(made).objects.count()
    for write in (made.save, lambda: type(made).objects.bulk_create([made])):
        with pytest.raises(IntegrityError), transaction.atomic():
            write()
    assert type(made).objects.count() == before


def test_a_record_of_a_lot_or_person_that_is_not_there():
    by, now = person(), timezone.now()
    for gone in ({"lot_id": 10**6}, {"lot": stuck_lot(), "by_id": 10**6}):
        with pytest.raises(IntegrityError), transaction.atomic():
            written_to_the_end(Finish(**{"by": by, "pots": 1, "observed_at": now} | gone))


def test_a_number_of_a_record_is_there_once():
    lot, by = stuck_lot(units=10), person()
    [(entry, _)] = ledger.record(lot, [loss(by)])
    twin = loss(by, uuid=entry.uuid)
    twin.lot = lot
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save()
    assert Loss.objects.count() == 1


def test_a_stock_plant_is_cut_once_for_a_lot():
    plant = stock_plant()
    lot = planned_lot(plants=(plant,))
    with pytest.raises(IntegrityError), transaction.atomic():
        Cut.objects.create(lot=lot, stock_plant=plant)


@pytest.mark.parametrize(
    "fields",
    [{"health": "fine"}, {"origin": "found"}, {"origin": "bought", "from_lot": True}],
    ids=str,
)
def test_a_stock_plant_is_of_known_health_and_origin(fields):
    if "from_lot" in fields:
        fields = fields | {"from_lot": stuck_lot()}
    with pytest.raises(IntegrityError), transaction.atomic():
        stock_plant(variety=variety(), **fields)


def test_what_the_ledger_writes_passes_every_constraint():
    lot, by = a_lot_with_everything(), person()
    ledger.record(lot, [move(by, place())])
    late = timezone.now() - timedelta(days=5)
    ledger.record(lot, [check(by, 18, 9, late)])
    for model in (Lot, StrikeCheck, Loss, PotUp, Finish, Leave):
        for row in model.objects.all():
            row.validate_constraints()


@pytest.mark.parametrize(
    "wrong",
    [
        {"pots": 0},
        {"confidence": 0.0},
        {"confidence": 1.0},
        {"every_weeks": 0},
        {"until": timezone.localdate()},
        {"every_weeks": 2, "until": timezone.localdate() - timedelta(days=400)},
        {"outcome": "met"},
        {"closed_on": timezone.localdate()},
        {"outcome": "perhaps", "closed_on": timezone.localdate()},
    ],
)
def test_a_target_is_one_that_can_be(wrong):
    with pytest.raises((IntegrityError, DataError)), transaction.atomic():
        target(**wrong)


def test_every_week_has_one_line_of_limits_and_so_has_each():
    Limit.objects.create(flats=1)
    monday = timezone.localdate()
    Limit.objects.create(week=monday, flats=1)
    for again in ({}, {"week": monday}, {"week": monday + timedelta(7), "cells_per_flat": 0}):
        with pytest.raises((IntegrityError, DataError)), transaction.atomic():
            Limit.objects.create(flats=2, **again)


def test_there_is_one_plan_and_a_wish_a_week():
    Plan.objects.create(pk=1, data={})
    of = {"target": target(), "wanted_by": timezone.localdate(), "week": timezone.localdate()}
    Wish.objects.create(**of)
    for twice in (lambda: Plan.objects.create(pk=2, data={}), lambda: Wish.objects.create(**of)):
        with pytest.raises((IntegrityError, DataError)), transaction.atomic():
            twice()
    with pytest.raises((IntegrityError, DataError)), transaction.atomic():
        Wish.objects.filter(**of).update(barred=True, units=4)


def test_plants_under_a_code_are_one_at_least():
    with pytest.raises((IntegrityError, DataError)), transaction.atomic():
        stock_plant(plants=0)
