"""Pots that are kept for stock are a stock plant in the same save."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger, supply
from lots.models import Cut, Finish, Lot, PotUp, StockPlant
from lots.stockplants import plants
from tests import factories
from tests.pages import select

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot():
    by, size = factories.person(), factories.potsize()
    lot = factories.stuck_lot(units=20, days=200, by=by, place=factories.place(name="2-02"))
    at = timezone.now() - timedelta(days=2)
    potted = PotUp(units=20, pots=20, pot_size=size, by=by, observed_at=at)
    finished = Finish(pots=20, pot_size=size, by=by, observed_at=at + timedelta(days=1))
    ledger.record_together([(lot, [potted, finished])])
    return Lot.objects.get(pk=lot.pk)


def leave(client, lot, way="stock", **more):
    sent = {"uuid": str(uuid4()), "pots": 3, "stage": "finished", "way": way} | more
    return client.post(reverse("lot-leave", args=[lot.code]), sent, follow=True), sent


def test_kept_for_stock_they_are_a_stock_plant(client, boss, lot):
    answer, sent = leave(client, lot)
    plant = StockPlant.objects.get()
    assert (plant.variety, plant.from_lot, plant.plants) == (lot.variety, lot, 3)
    assert plant.place.name == "2-02"
    assert plant.code == f"{lot.variety.code}-01"
    assert f"stock plant {plant}" in " ".join(select(answer, ".messages"))
    assert Lot.objects.get(pk=lot.pk).pots_finished == 17
    # Sent twice it is one plant; the next ones get the next code.
    leave(client, lot, uuid=sent["uuid"])
    assert StockPlant.objects.count() == 1
    leave(client, lot)
    assert StockPlant.objects.order_by("code").last().code == f"{lot.variety.code}-02"


def test_refused_pots_make_no_plant(client, boss, lot):
    answer, _sent = leave(client, lot, pots=21)
    assert answer.status_code == 422
    assert StockPlant.objects.count() == 0


@pytest.mark.parametrize("way", ["sold", "culled"])
def test_what_is_sold_is_no_plant(client, boss, lot, way):
    leave(client, lot, way=way)
    assert StockPlant.objects.count() == 0


def test_stock_plants_are_the_managers_to_make(client, grower, lot):
    answer, _sent = leave(client, lot)
    assert StockPlant.objects.count() == 0
    assert "gone out" in " ".join(select(answer, ".messages"))


def test_the_variety_says_what_the_other_pages_say(client, grower, lot):
    variety, today = lot.variety, timezone.localdate()
    plant = factories.stock_plant(variety=variety, pieces_per_cut=5, plants=4)
    factories.target(variety=variety, pots=30, pot_size=lot.pot_size)
    page = " ".join(select(client.get(reverse("variety", args=[variety.pk])), "main"))
    [line] = [line for line in supply.lines(8, today) if line.variety == variety]
    assert f"{line.now} pots finished here" in page
    assert f"{line.coming} to come" in page
    [one] = supply.served(today)
    assert f"{one.here} here, {one.coming} coming" in page
    assert f"{one.short} short" in page
    assert "They can give 20 pieces today" in page
    assert "20 went into pots" in page
    assert plant.gives == 20


def test_what_was_taken_of_a_plant(client, grower):
    plant = factories.stock_plant(pieces_per_cut=5)
    for days, count in ((30, 12), (100, 8), (400, 99)):
        lot = factories.stuck_lot(days=days, variety=plant.variety)
        Cut.objects.create(lot=lot, stock_plant=plant, pieces=count)
    assert plants.taken(plant) == {"cuts": 2, "pieces": 20}
    page = " ".join(select(client.get(reverse("stock-plant", args=[plant.pk])), "main"))
    assert "20 pieces in 2 cuts" in page
    assert "now: no weeks of rest are entered" in page
