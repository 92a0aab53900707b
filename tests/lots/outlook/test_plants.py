"""What a stock plant has given counts in what is expected of its next lots."""

import pytest

from lots.models import Cut
from lots.outlook import facts, stored_fit
from lots.outlook.prediction import predict
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db


@pytest.fixture
def plants():
    """Two stock plants of each of three varieties; of lots cut from the second one fewer take."""
    by, group, method = factories.person(), factories.group(), factories.method()
    found = []
    for _n in range(3):
        variety = factories.variety(group=group)
        pair = [factories.stock_plant(variety=variety) for _ in range(2)]
        done = {"variety": variety, "method": method, "by": by}
        for which, plant in enumerate(pair):
            takes = 42 - 20 * which
            some = [growing.grown(200 + 31 * k, takes=takes + k % 3, **done) for k in range(6)]
            for lot in growing.load(*some):
                Cut.objects.create(lot=lot, stock_plant=plant, pieces=lot.stuck_units, order=0)
        found.append(pair)
    growing.learn()
    return found


def expected(*plants) -> float:
    """The share that is expected to take of a lot planned from some plants, the first one gives
    most."""
    method = plants[0].cuts.first().lot.method
    lot = factories.planned_lot(variety=plants[0].variety, plants=plants, method=method)
    for n, cut in enumerate(lot.cuts.order_by("order")):
        Cut.objects.filter(pk=cut.pk).update(pieces=40 - 10 * n)
    return float(predict(stored_fit.newest(), facts.of([lot])).take[0])


def test_a_weak_plant_is_expected_to_give_fewer(plants):
    for strong, weak in plants:
        assert expected(strong) > expected(weak) + 0.15


def test_the_plant_that_gives_most_counts(plants):
    strong, weak = plants[0]
    assert expected(strong, weak) == pytest.approx(expected(strong))
    assert expected(weak, strong) == pytest.approx(expected(weak))


def test_of_a_new_plant_its_variety_tells(plants):
    strong, weak = plants[0]
    new = factories.stock_plant(variety=strong.variety)
    lot = factories.planned_lot(plants=(new,), method=strong.cuts.first().lot.method)
    told = float(predict(stored_fit.newest(), facts.of([lot])).take[0])
    assert expected(weak) < told < expected(strong)


def test_both_ways_of_reading_a_lot_name_the_same_plant(plants):
    lot = plants[0][1].cuts.first().lot
    [read] = facts.standing(type(lot).objects.filter(pk=lot.pk))
    [at_hand] = facts.of([lot])
    assert read.plant == at_hand.plant == plants[0][1].pk
