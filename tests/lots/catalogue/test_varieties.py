"""Varieties: list, search, page, form, the options of a datalist."""

import pytest
from django.urls import reverse

from lots.models import Variety
from tests.factories import group, planned_lot, stock_plant, stuck_lot, variety
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db
LIST = "/varieties/"
NEW = "/varieties/new/"


def fields(**given):
    return {"code": "RB1", "group": group().pk, "genus": "Begonia", "cultivar": "Rain"} | given


def names(page):
    return select(page, "tbody td.first")


@pytest.mark.parametrize("url", [LIST, NEW, "/varieties/find/", "/varieties/1/"])
def test_signed_out_is_sent_to_sign_in(client, url):
    assert client.get(url)["Location"].startswith("/sign-in/")


def test_reading_pages_take_no_posts(client, grower):
    for url in (LIST, "/varieties/find/", reverse("variety", args=[variety().pk])):
        assert client.post(url).status_code == 405


def test_an_empty_list_says_what_comes_next(client, grower):
    assert "A manager enters them." in select(client.get(LIST), ".empty")[0]


@pytest.mark.parametrize(
    "words", ["rain", "RAIN", "rex ra", "beg", "rb7", "'Rain'", "× rain", "glossy"]
)
def test_letters_of_any_part_find_a_variety(client, grower, words):
    variety(code="RB7", species="rex", cultivar="Rain", trade_name="Glossy")
    variety(code="CO1", genus="Coleus", cultivar="Fire")
    assert names(client.get(LIST, {"q": words})) == ["Begonia rex ‘Rain’ Glossy"]
    options = client.get("/varieties/find/", {"q": words})
    assert [one.get("value") for one in elements(options, "option")] == ["RB7"]


def test_the_crop_group_filters(client, grower):
    variety(cultivar="Rain")
    coleus = group(name="coleus")
    variety(genus="Coleus", cultivar="Fire", group=coleus)
    assert names(client.get(LIST, {"group": coleus.pk})) == ["Coleus ‘Fire’"]
    page = client.get(LIST, {"q": "no such thing"})
    assert select(page, ".empty") == ["No variety fits these filters."]


def test_the_list_counts_standing_lots_and_plants_to_cut_from(client, grower):
    one = variety()
    for _n in range(2):
        stuck_lot(variety=one)
    planned_lot(variety=one)
    for health in ("sound", "watch", "quarantined", "gone"):
        stock_plant(variety=one, health=health)
    page = client.get(LIST, {"q": one.code})
    assert select(page, "td[data-before='standing lots']") == ["2"]
    assert select(page, "td[data-before='stock plants']") == ["3"]


def test_more_varieties_cost_no_more_queries(client, grower):
    one = variety()
    stuck_lot(variety=one, plants=(stock_plant(variety=one),))
    page = reverse("variety", args=[one.pk])
    before = query_count(client, LIST), query_count(client, page)
    for _n in range(6):
        stuck_lot()
        stuck_lot(variety=one, plants=(stock_plant(variety=one),))
    assert (query_count(client, LIST), query_count(client, page)) == before


def test_the_list_turns_its_pages(client, grower):
    for _n in range(51):
        variety()
    assert len(names(client.get(LIST))) == 50
    assert len(names(client.get(LIST, {"page": 2}))) == 1
    assert len(names(client.get(LIST, {"page": "rubbish"}))) == 50


def test_no_more_than_twenty_are_offered_and_none_for_nothing(client, grower):
    for _n in range(21):
        variety()
    assert len(elements(client.get("/varieties/find/", {"q": "beg"}), "option")) == 20
    assert elements(client.get("/varieties/find/", {"q": " "}), "option") == []
    # the name under which the field of a session's line sends its letters
    assert elements(client.get("/varieties/find/", {"variety": "beg"}), "option")


def test_the_page_shows_names_plants_and_lots(client, grower):
    one = variety(species="rex", cultivar="Rain")
    plant = stock_plant(variety=one)
    lot = stuck_lot(variety=one, plants=(plant,))
    page = client.get(reverse("variety", args=[one.pk]))
    assert select(page, "h1 i") == ["Begonia rex"]
    links = [link.get("href") for link in elements(page, "main a")]
    assert reverse("stock-plant", args=[plant.pk]) in links
    assert reverse("lot", args=[lot.code]) in links
    assert not elements(page, "a[href$='change/']")


@pytest.mark.parametrize(
    ("licence", "says"), [("PBR 12/345", "only within the licence PBR 12/345"), ("", "can't be")]
)
def test_a_protected_variety_carries_its_caution(client, grower, licence, says):
    one = variety(protected=True, licence=licence)
    caution = select(client.get(reverse("variety", args=[one.pk])), ".caution")
    assert says in caution[0]
    assert not select(client.get(reverse("variety", args=[variety().pk])), ".caution")


def test_only_a_manager_enters_and_changes(client, grower):
    one = variety()
    for url in (NEW, reverse("variety-change", args=[one.pk])):
        assert client.get(url).status_code == 403
        assert client.post(url, fields()).status_code == 403
    assert Variety.objects.count() == 1


def test_a_new_variety_is_entered_once(client, boss):
    answer = client.post(NEW, fields(cultivar="‘Rain’"))
    one = Variety.objects.get()
    assert answer["Location"] == reverse("variety", args=[one.pk])
    assert one.cultivar == "Rain"
    assert "Begonia ‘Rain’ is saved." in select(client.get(answer["Location"]), ".messages li")
    again = client.post(NEW, fields(code="rb1"))
    assert again.status_code == 422
    assert "in the book already" in select(again, ".field.wrong .errorlist")[0]
    assert elements(again, "input[name=cultivar]")[0].get("value") == "Rain"
    assert Variety.objects.count() == 1


@pytest.mark.parametrize("missing", ["code", "group", "genus"])
def test_what_is_missing_is_told_at_its_field(client, boss, missing):
    page = client.post(NEW, fields(**{missing: ""}))
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={missing}]")


def test_a_variety_is_changed(client, boss):
    one = variety(protected=True)
    url = reverse("variety-change", args=[one.pk])
    assert elements(client.get(url), "main input[name=code]")[0].get("value") == one.code
    client.post(url, fields(code=one.code, protected="on", licence="PBR 1"))
    one.refresh_from_db()
    assert one.may_be_stuck
    assert client.get("/varieties/999999/change/").status_code == 404
