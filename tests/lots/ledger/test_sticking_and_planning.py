"""Planning, sticking, correcting a sticking, and a tag that is void."""

from datetime import timedelta

import pytest
from django.utils import timezone

from lots import ledger
from lots.ledger import Refused
from lots.models import Lot, Stage
from tests.factories import (
    flat,
    manager,
    person,
    place,
    planned_lot,
    stock_plant,
    stuck_lot,
    variety,
)
from tests.lots.entries import (
    counts,
    days_ago,
    loss,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def anna():
    return person()


def test_a_lot_is_planned_with_a_code_and_its_cuts():
    plant = stock_plant()
    lot = planned_lot(plants=(plant,))
    assert (lot.stage, lot.stuck_on, counts(lot)["cells"]) == (Stage.PLANNED, None, 0)
    assert len(lot.code) == 6
    assert [cut.stock_plant for cut in lot.cuts.all()] == [plant]


def test_sticking_writes_what_was_really_stuck(anna):
    lot, bench, tray = planned_lot(planned_units=48), place(), flat()
    ledger.stick(lot, units=46, on=timezone.localdate(), by=anna, place=bench, flat=tray)
    lot.refresh_from_db()
    assert (lot.planned_units, lot.stuck_units, lot.cells) == (48, 46, 46)
    assert (lot.stuck_by, lot.place, lot.flat, lot.stage) == (anna, bench, tray, Stage.STUCK)


def test_a_protected_variety_needs_its_licence_before_it_is_planned_or_stuck(anna):
    guarded = variety(protected=True, licence=" ")
    with pytest.raises(Refused, match="licence") as refusal:
        planned_lot(variety=guarded)
    assert refusal.value.field == "variety"
    lot = planned_lot(variety=variety(protected=True, licence="PBR 7"))
    type(lot.variety).objects.filter(pk=lot.variety_id).update(licence="")
    with pytest.raises(Refused, match="may not be propagated"):
        ledger.stick(lot, units=5, on=timezone.localdate(), by=anna)


@pytest.mark.parametrize("health", ["quarantined", "gone"])
def test_nothing_is_cut_from_a_stock_plant_that_is_ill_or_gone(anna, health):
    plant = stock_plant()
    lot = planned_lot(plants=(plant,))
    type(plant).objects.filter(pk=plant.pk).update(health=health)
    with pytest.raises(Refused, match=f"{plant.code}.*{health}") as refusal:
        ledger.stick(lot, units=5, on=timezone.localdate(), by=anna)
    assert refusal.value.field == "stock_plants"
    plant.refresh_from_db()
    with pytest.raises(Refused, match=health):
        planned_lot(plants=(plant,))
    with pytest.raises(Refused, match=health):
        ledger.replan(lot, lot.cuts.all())


def test_a_stuck_lot_can_be_counted_again_when_its_plant_has_gone(anna):
    plant = stock_plant()
    lot = stuck_lot(plants=(plant,), units=48)
    type(plant).objects.filter(pk=plant.pk).update(health="gone")
    assert ledger.stick(lot, units=47, on=lot.stuck_on, by=anna).cells == 47


def test_a_stock_plant_of_another_variety_is_refused():
    plant = stock_plant()
    with pytest.raises(Refused, match=plant.code):
        planned_lot(plants=(plant,), variety=variety())


@pytest.mark.parametrize("units", [0, -1, 1_000_001, 2**40, 2**70])
def test_sticking_wants_a_number_that_can_be(anna, units):
    lot = planned_lot()
    with pytest.raises(Refused) as refusal:
        ledger.stick(lot, units=units, on=timezone.localdate(), by=anna)
    assert refusal.value.field == "units"


def test_nothing_is_stuck_in_the_future(anna):
    tomorrow = timezone.localdate() + timedelta(days=1)
    with pytest.raises(Refused, match="not come yet"):
        ledger.stick(planned_lot(), units=5, on=tomorrow, by=anna)


def test_a_sticking_is_corrected_as_long_as_its_records_fit(anna):
    lot = stuck_lot(days=30, units=10)
    ledger.record(lot, [loss(anna, 4, days_ago(20))])
    ledger.stick(lot, units=12, on=lot.stuck_on, by=anna)
    assert counts(lot)["cells"] == 8
    ledger.stick(lot, units=4, on=lot.stuck_on, by=anna)
    assert counts(lot)["stage"] == Stage.CLOSED
    with pytest.raises(Refused, match="more than 3 units"):
        ledger.stick(lot, units=3, on=lot.stuck_on, by=anna)
    with pytest.raises(Refused, match="after that") as refusal:
        ledger.stick(lot, units=4, on=lot.stuck_on + timedelta(days=11), by=anna)
    assert refusal.value.field == "on"
    assert counts(lot)["cells_lost"] == 4


def test_a_void_tag_is_undone_by_sticking_after_all(anna):
    lot = ledger.not_stuck(planned_lot())
    assert lot.stage == Stage.NOT_STUCK
    ledger.stick(lot, units=9, on=timezone.localdate(), by=anna)
    assert (counts(lot)["stage"], counts(lot)["cells"]) == (Stage.STUCK, 9)


def test_a_sticking_is_taken_back_only_while_nothing_is_recorded(anna):
    lot = stuck_lot(units=9)
    [(entry, _)] = ledger.record(lot, [loss(anna, 4)])
    with pytest.raises(Refused, match="void them first"):
        ledger.not_stuck(lot)
    ledger.void(entry, by=anna, why="wrong lot")
    ledger.not_stuck(lot)
    assert (counts(lot)["stage"], counts(lot)["cells"]) == (Stage.NOT_STUCK, 0)
    assert Lot.objects.get(pk=lot.pk).stuck_on is None


def test_a_plan_is_changed_only_before_the_sticking():
    plant = stock_plant()
    lot = planned_lot(variety=plant.variety)
    code = lot.code
    lot.planned_units = 30
    ledger.replan(lot, [])
    lot.refresh_from_db()
    assert (lot.code, lot.planned_units) == (code, 30)
    ledger.stick(lot, units=30, on=timezone.localdate(), by=manager())
    lot.planned_units = 31
    with pytest.raises(Refused, match="only before"):
        ledger.replan(lot, [])
    lot.refresh_from_db()
    assert lot.planned_units == 30


def test_a_code_that_is_taken_is_drawn_again(monkeypatch):
    taken = planned_lot().code
    drawn = iter([taken, taken, "7K3QFY"])
    monkeypatch.setattr("lots.codes.new_code", lambda: next(drawn))
    assert ledger.new_code() == "7K3QFY"
