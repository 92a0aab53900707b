"""Methods compared: which way of cutting works best here, with the evidence."""

import re

import pytest
from django.urls import reverse

from lots import outlook
from lots.models import Cut, Fit
from tests import factories
from tests.lots import growing
from tests.pages import query_count, select


@pytest.fixture
def ways(grower):
    """A variety cut both ways: wedges take much more, whole leaves finish sooner."""
    variety = factories.variety(cultivar="Sugar Fog")
    wedge = factories.method(name="leaf wedge", pieces_per_source=6)
    whole = factories.method(name="whole leaf", pieces_per_source=1)
    add(grower, variety, wedge, 8, takes=44, finishes=170)
    add(grower, variety, whole, 4, takes=20, finishes=130)
    outlook.refit()
    return variety, wedge, whole


def add(by, variety, method, lots, *, takes, finishes, plant=None):
    made = growing.load(
        *(
            growing.grown(
                days=300 + n,
                by=by,
                variety=variety,
                method=method,
                takes=takes + n % 2,
                finishes=finishes,
            )
            for n in range(lots)
        )
    )
    if plant:
        Cut.objects.bulk_create(Cut(lot=lot, stock_plant=plant, pieces=48) for lot in made)


def page(client, **query):
    return client.get(reverse("methods-compare"), query)


def test_a_variety_in_sentences_with_the_evidence(client, ways):
    variety, *_ways = ways
    answer = page(client, variety=variety.pk)
    said = select(answer, "section p")
    assert re.match(
        r"Leaf wedge 0\.\d\d \(0\.\d\d–0\.\d\d, 8 lots\) against whole leaf "
        r"0\.\d\d \(0\.\d\d–0\.\d\d, 4 lots\)\. "
        r"By leaf wedge more take: chance 9\d in 100\.",
        said[0],
    )
    assert re.match(r"By whole leaf they finish sooner: chance 9\d in 100", said[1])
    # Six wedges to a leaf: what one of them takes less, five more make good.
    assert said[2] == "By leaf wedge a leaf or shoot gives more pots: chance 99 in 100."
    assert len(select(answer, "figure svg")) == 2
    assert "leaf wedge" in select(answer, "figcaption")[0]
    rows = select(answer, "section tbody th")
    assert rows == [
        "Share that takes",
        "Days to strike",
        "Days to finish",
        "Pots from a leaf or shoot",
    ]


def test_the_numbers_are_about_what_came(client, ways):
    variety, *_ways = ways
    cells = select(page(client, variety=variety.pk), "section tbody td b")
    take, _strike, finish, pots = ([float(text) for text in cells[n : n + 2]] for n in (0, 2, 4, 6))
    assert take == pytest.approx([0.92, 0.43], abs=0.08)
    assert finish == pytest.approx([170, 130], rel=0.12)
    assert pots == pytest.approx([6 * take[0], take[1]], rel=0.1)


def test_a_whole_crop_group(client, ways):
    variety, *_ways = ways
    answer = page(client, group=variety.group_id)
    assert "rex begonia" in select(answer, "h1")[0]
    assert "8 lots" in select(answer, "section p")[0]


def test_a_way_that_makes_no_difference_is_as_good_as_even(client, grower):
    variety = factories.variety()
    for name in ("leaf wedge", "leaf cone"):
        add(grower, variety, factories.method(name=name), 4, takes=36, finishes=150)
    outlook.refit()
    assert "as good as even" in " ".join(select(page(client, variety=variety.pk), "section p"))


def test_a_poor_stock_plant_is_not_blamed_on_the_method(client, grower):
    """Either way takes alike on each plant, but most wedges were cut from the poor one."""
    variety = factories.variety()
    wedge, whole = (factories.method(name=name) for name in ("leaf wedge", "whole leaf"))
    poor, good = (factories.stock_plant(variety=variety) for _ in range(2))
    for method, plant, lots, takes in (
        (wedge, poor, 7, 20),
        (wedge, good, 1, 42),
        (whole, good, 7, 42),
        (whole, poor, 1, 20),
    ):
        add(grower, variety, method, lots, takes=takes, finishes=150, plant=plant)
    outlook.refit()
    said = select(page(client, variety=variety.pk), "section p")
    assert "8 lots from 2 stock plants" in said[0]
    assert "as good as even" in said[0] or re.search(r"chance [67]\d in 100", said[0])
    assert "2 stock plants were cut both ways" in said[2]


def test_plants_cut_one_way_only_are_said_to_be(client, grower):
    variety = factories.variety()
    for name, takes in (("leaf wedge", 42), ("leaf cone", 20)):
        plant = factories.stock_plant(variety=variety)
        method = factories.method(name=name)
        add(grower, variety, method, 5, takes=takes, finishes=150, plant=plant)
    outlook.refit()
    said = " ".join(select(page(client, variety=variety.pk), "section p"))
    assert "No stock plant was cut both ways" in said


def test_pots_of_a_leaf_need_the_pieces(client, grower):
    variety = factories.variety()
    for name in ("leaf wedge", "leaf cone"):
        add(grower, variety, factories.method(name=name), 2, takes=36, finishes=150)
    outlook.refit()
    answer = page(client, variety=variety.pk)
    assert "Pots from a leaf or shoot" not in select(answer, "tbody th")
    assert "how many pieces one gives" in " ".join(select(answer, "p.soft"))


def test_one_method_or_none_says_what_to_do(client, grower):
    assert "Choose a crop group" in select(page(client), ".empty")[0]
    variety = factories.variety()
    assert "Fewer than two methods" in select(page(client, variety=variety.pk), ".empty")[0]
    growing.load(growing.grown(by=grower, variety=variety))
    assert "Fewer than two methods" in select(page(client, variety=variety.pk), ".empty")[0]


@pytest.mark.parametrize("query", [{"group": "x"}, {"variety": "0"}, {"group": 9**9}])
def test_a_wrong_choice_is_none(client, grower, query):
    answer = page(client, **query)
    assert answer.status_code == 200
    assert select(answer, ".empty")


def test_the_standing_matrix(client, grower):
    assert client.post(reverse("methods-compare")).status_code == 405
    client.logout()
    assert page(client).url.startswith(reverse("sign-in"))


def test_more_lots_take_no_more_queries(client, grower, ways):
    variety, wedge, whole = ways
    url = f"{reverse('methods-compare')}?variety={variety.pk}"
    client.get(url)
    before = query_count(client, url)
    for method in (wedge, whole):
        add(grower, variety, method, 3, takes=30, finishes=150)
    outlook.refit()
    client.get(url)
    assert query_count(client, url) == before


def test_before_the_first_fit_the_lots_are_compared_all_the_same(client, ways):
    variety, *_ways = ways
    Fit.objects.all().delete()
    assert "8 lots" in select(page(client, variety=variety.pk), "section p")[0]
