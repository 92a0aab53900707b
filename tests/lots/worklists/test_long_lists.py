"""The lists of varieties and of stock plants: sorted in each way, in files and on paper as on the
screen."""

import csv
from io import StringIO

import pytest
from django.urls import reverse

from lots.forms import stockplants
from lots.forms.catalogue import VARIETY_SORTS
from tests import factories
from tests.pages import elements, select

pytestmark = pytest.mark.django_db

LISTS = {"varieties": ("varieties-csv", VARIETY_SORTS), "stock": ("stock-csv", stockplants.SORTS)}


@pytest.fixture
def plants(grower):
    """Three varieties, each with a plant; the second stands in a lot, and was cut for it."""
    made = []
    for number, genus in enumerate(["Zebrina", "Aeschynanthus", "Maranta"]):
        variety = factories.variety(genus=genus, code=f"V-{number}")
        place = factories.place(name=f"Stock {9 - number}", walk_order=9 - number)
        made.append(factories.stock_plant(variety=variety, code=f"P-{number}", place=place))
    factories.stuck_lot(plants=(made[1],), variety=made[1].variety)
    return made


def listed(client, name, **query) -> list[str]:
    return select(client.get(reverse(name), query), "tbody .code")


def in_file(client, name, **query) -> list[dict]:
    answer = client.get(reverse(LISTS[name][0]), query)
    return list(csv.DictReader(StringIO(answer.content.decode())))


@pytest.mark.parametrize(
    ("name", "sort", "first"),
    [
        ("varieties", "", "V-1"),
        ("varieties", "code", "V-0"),
        ("varieties", "standing", "V-1"),
        ("stock", "", "P-0"),
        ("stock", "place", "P-2"),
        ("stock", "name", "P-1"),
    ],
)
def test_what_comes_first_in_an_order(client, plants, name, sort, first):
    assert listed(client, name, sort=sort)[0] == first


def test_the_plant_that_was_just_cut_comes_last_of_those_longest_uncut(client, plants):
    assert listed(client, "stock", sort="uncut")[-1] == "P-1"


@pytest.mark.parametrize("name", LISTS)
def test_each_order_shows_all_and_the_file_holds_the_same_rows(client, plants, name):
    for sort in LISTS[name][1]:
        shown = listed(client, name, sort=sort)
        assert len(shown) == 3
        assert [row["code"] for row in in_file(client, name, sort=sort)] == shown


@pytest.mark.parametrize("name", LISTS)
def test_the_file_holds_what_the_filter_lets_through(client, plants, name):
    [row] = in_file(client, name, q="zebr")
    assert row["name"].startswith("Zebrina")


def test_a_text_like_a_formula_is_shielded_in_the_file(client, grower):
    factories.variety(code="=1+1")
    [row] = in_file(client, "varieties")
    assert row["code"] == "'=1+1"


@pytest.mark.parametrize("name", LISTS)
def test_a_long_list_loads_on_and_stands_whole_on_paper(client, grower, name):
    for number in range(60):
        factories.stock_plant(code=f"P-{number:02}", variety=factories.variety())
    page = client.get(reverse(name), {"sort": "code"})
    assert len(select(page, "td.first")) == 50
    [onward] = elements(page, "tr.onward")
    assert "page=2" in onward.get("hx-get")
    assert "sort=code" in onward.get("hx-get")
    assert len(select(client.get(reverse(name), {"whole": 1}), "td.first")) == 60
