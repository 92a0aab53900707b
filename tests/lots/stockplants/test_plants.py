"""Stock plants: list, page, generations, rest, form."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import codes
from lots.models import StockPlant
from lots.stockplants import plants
from tests.factories import place, stock_plant, stuck_lot, variety
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db
LIST = "/stock/"
NEW = "/stock/new/"
UNUSED = "00000" + codes.check_character("00000")


def address(plant):
    return reverse("stock-plant", args=[plant.pk])


def fields(**given):
    plain = {"health": "sound", "origin": "bought", "since": "2025-03-01"}
    return plain | {"variety": given.get("variety") or variety().pk} | given


def listed(client, **query):
    return select(client.get(LIST, query), "tbody td:first-child")


def test_signed_out_is_sent_to_sign_in(client):
    for url in (LIST, NEW, "/stock/1/"):
        assert client.get(url)["Location"].startswith("/sign-in/")


def test_reading_pages_take_no_posts(client, grower):
    for url in (LIST, address(stock_plant())):
        assert client.post(url).status_code == 405


def test_the_list_is_filtered_by_variety_health_and_place(client, grower):
    rain, fire, bench = variety(cultivar="Rain"), variety(cultivar="Fire"), place()
    stock_plant(code="A", variety=rain, place=bench)
    stock_plant(code="B", variety=fire, health="watch")
    stock_plant(code="C", variety=fire, health="gone")
    assert listed(client) == ["A", "B"]
    assert listed(client, q="fire") == ["B"]
    assert listed(client, q="a") == ["A", "B"]  # Begonia has it, and so has the code
    assert listed(client, health="gone") == ["C"]
    assert listed(client, health="") == ["A", "B", "C"]
    assert listed(client, place=bench.pk) == ["A"]
    assert select(client.get(LIST, {"q": "zz"}), ".empty") == ["No stock plant fits these filters."]


def test_more_plants_cost_no_more_queries(client, grower):
    stuck_lot(plants=(stock_plant(place=place()),))
    before = query_count(client, LIST)
    for _n in range(6):
        stuck_lot(plants=(stock_plant(place=place()),))
    assert query_count(client, LIST) == before


def test_the_page_lists_what_was_cut_from_it(client, grower):
    plant = stock_plant()
    old = stuck_lot(plants=(plant,), days=90)
    new = stuck_lot(plants=(plant,), days=20)
    page = client.get(address(plant))
    assert select(page, "tbody td:first-child") == [codes.show(new.code), codes.show(old.code)]


@pytest.mark.parametrize(
    ("weeks", "days_ago", "says"),
    [(4, 10, "from "), (4, 28, "now: it has rested"), (None, 1, "now: no weeks of rest")],
)
def test_the_page_says_when_it_can_be_cut_again(client, grower, weeks, days_ago, says):
    plant = stock_plant(rest_weeks=weeks)
    stuck_lot(plants=(plant,), days=days_ago)
    facts = select(client.get(address(plant)), ".facts dd")
    assert any(fact.startswith(says) for fact in facts)


def test_the_rest_counts_from_the_last_cut():
    plant = stock_plant(rest_weeks=4)
    for days in (40, 5):
        stuck_lot(plants=(plant,), days=days)
    seen = plants.stock_plants().get(pk=plant.pk)
    assert plants.rests_until(seen) == timezone.localdate() + timedelta(days=28 - 5)


def test_a_plant_that_is_not_to_be_cut_says_so(client, grower):
    page = client.get(address(stock_plant(health="quarantined")))
    assert "nothing is to be cut" in select(page, ".note")[0]
    assert "Can be cut" not in select(page, ".facts dt")


def test_the_generations_go_back_to_the_bought_plant(client, grower):
    bought = stock_plant(code="B1")
    first = stuck_lot(plants=(bought,))
    child = stock_plant(code="B2", variety=bought.variety, origin="own", from_lot=first)
    second = stuck_lot(plants=(child,))
    grandchild = stock_plant(code="B3", variety=bought.variety, origin="own", from_lot=second)
    page = client.get(address(grandchild))
    assert select(page, "ol > li a") == [
        codes.show(second.code),
        "B2",
        codes.show(first.code),
        "B1",
    ]


def test_a_circle_of_generations_ends():
    plant = stock_plant()
    lot = stuck_lot(plants=(plant,))
    plant.origin, plant.from_lot = "own", lot
    plant.save(update_fields=["origin", "from_lot"])
    (generation,) = plants.ancestry(plant)
    assert (generation.lots, generation.plants) == ([lot], [])


def test_only_a_manager_enters_and_changes(client, grower):
    plant = stock_plant()
    for url in (NEW, reverse("stock-change", args=[plant.pk])):
        assert client.get(url).status_code == 403
        assert client.post(url, fields(health="gone")).status_code == 403
    plant.refresh_from_db()
    assert plant.health == "sound"


def test_a_plant_without_a_code_gets_one_and_the_same_page_twice_makes_one(client, boss):
    page = client.get(NEW, {"variety": variety().pk})
    (spare,) = elements(page, "input[name=spare_code]")
    (chosen,) = elements(page, "select[name=variety] option[selected]")
    given = fields(code="", spare_code=spare.get("value"), variety=chosen.get("value"))
    for _time in range(2):
        answer = client.post(NEW, given)
        plant = StockPlant.objects.get()
        assert answer["Location"] == address(plant)
    assert codes.read(plant.code) == plant.code == spare.get("value")


def test_a_code_of_a_lot_is_refused_in_any_hand(client, boss):
    lot = stuck_lot()
    page = client.post(NEW, fields(code=codes.show(lot.code).lower()))
    assert page.status_code == 422
    assert "is a lot's code" in select(page, ".field.wrong .errorlist")[0]
    assert not StockPlant.objects.exists()


def test_a_code_is_given_once_in_any_capitals(client, boss):
    stock_plant(code="Rain-1")
    page = client.post(NEW, fields(code="RAIN-1"))
    assert page.status_code == 422
    assert "in the book already" in select(page, ".field.wrong .errorlist")[0]


def test_a_plant_of_our_own_names_its_lot(client, boss):
    lot = stuck_lot()
    typed = codes.show(lot.code).lower()
    client.post(NEW, fields(code="N1", origin="own", from_lot=typed, variety=lot.variety_id))
    plant = StockPlant.objects.get(code="N1")
    assert plant.from_lot == lot
    form = client.get(reverse("stock-change", args=[plant.pk]))
    assert elements(form, "input[name=from_lot]")[0].get("value") == codes.show(lot.code)


@pytest.mark.parametrize(
    ("given", "at", "says"),
    [
        ({"origin": "own", "from_lot": "nonsense"}, "from_lot", "mistyped"),
        ({"origin": "own", "from_lot": UNUSED}, "from_lot", "no stuck lot"),
        ({"pieces_per_cut": "0"}, "pieces_per_cut", "1"),
        ({"since": "soon"}, "since", "YYYY-MM-DD"),
    ],
)
def test_bad_input_is_told_at_its_field(client, boss, given, at, says):
    page = client.post(NEW, fields(code="N1", **given))
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={at}]")
    assert says in select(page, ".field.wrong .errorlist")[0]
    assert elements(page, "main input[name=code]")[0].get("value") == "N1"


def test_a_bought_plant_comes_from_no_lot(client, boss):
    page = client.post(NEW, fields(code="N1", from_lot=stuck_lot().code))
    assert page.status_code == 422
    assert elements(page, ".field.wrong [name=origin]")


def test_a_manager_changes_its_health(client, boss):
    plant = stock_plant()
    given = fields(code=plant.code, variety=plant.variety_id, health="quarantined")
    answer = client.post(reverse("stock-change", args=[plant.pk]), given)
    assert answer["Location"] == address(plant)
    plant.refresh_from_db()
    assert not plant.may_be_cut
