"""Methods compared: which way of cutting works best here, with the evidence."""

import re

import pytest
from django.urls import reverse

from lots import outlook
from lots.models import Cut, Fit
from tests import factories
from tests.lots import growing
from tests.pages import elements, query_count, select


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


def column(answer, n):
    """The text of the n-th cell of each row of the table of methods, the name being the first."""
    return select(answer, f"#in-order ~ .table tbody tr > :nth-child({n})")


def test_one_row_a_method_best_first_by_what_is_chosen(client, ways):
    variety, *_ways = ways
    for by, order in (
        ("take", ["leaf wedge", "whole leaf"]),
        ("days", ["whole leaf", "leaf wedge"]),
        ("pots", ["leaf wedge", "whole leaf"]),
    ):
        answer = page(client, variety=variety.pk, by=by)
        assert column(answer, 1) == order
        # The choice stays in the form, so that it stays in the address.
        [chosen] = elements(answer, "select[name=by] option[selected]")
        assert chosen.get("value") == by
    assert column(page(client, variety=variety.pk), 1)[0] == "leaf wedge"
    assert column(page(client, variety=variety.pk, by="luck"), 1)[0] == "leaf wedge"


def test_a_row_says_how_far_it_is_from_the_best_and_how_likely(client, ways):
    variety, *_ways = ways
    answer = page(client, variety=variety.pk)
    best, behind = column(answer, 6)
    assert best == "the best"
    assert re.fullmatch(r"−[345]\d \(−\d\d … −\d\d\)", behind)
    assert re.fullmatch(r"very likely: 9\d in 100", column(answer, 7)[1])
    assert column(answer, 8) == ["8 lots", "4 lots"]
    slower = column(page(client, variety=variety.pk, by="days"), 6)[1]
    assert re.fullmatch(r"\+[2345]\d \(\+\d\d … \+\d\d\)", slower)


def test_the_numbers_are_about_what_came(client, ways):
    variety, *_ways = ways
    figures = [float(text) for text in select(page(client, variety=variety.pk), "tbody td b")]
    take, _strike, finish, pots = (figures[n::4] for n in range(4))
    assert take == pytest.approx([92, 43], abs=8)
    assert finish == pytest.approx([170, 130], rel=0.12)
    # Six wedges to a leaf: what one of them takes less, five more make good.
    assert pots == pytest.approx([6 * take[0] / 100, take[1] / 100], rel=0.1)


def test_the_headline_says_what_the_other_figures_say(client, ways):
    variety, *_ways = ways
    by_take = select(page(client, variety=variety.pk), ".headline")
    assert re.match(
        r"Leaf wedge is best by take: 9\d of 100 take, against [34]\d of 100 take by whole leaf\.",
        by_take[0],
    )
    assert re.match(
        r"But whole leaf is best by days to finish: 1\d\d days, against 1\d\d days by leaf wedge",
        by_take[1],
    )
    assert re.match(
        r"It is best by pots from a leaf or shoot, too: 5\.\d pots, against 0\.\d pots by whole",
        by_take[2],
    )
    by_days = select(page(client, variety=variety.pk, by="days"), ".headline")
    assert by_days[0].startswith("Whole leaf is best by days to finish")
    assert by_days[1].startswith("But leaf wedge is best by take")
    assert by_days[2].startswith("But leaf wedge is best by pots from a leaf or shoot: 5.")


def test_the_chart_shows_what_is_chosen(client, ways):
    variety, *_ways = ways
    for by, words in (("take", "By take"), ("days", "By days to finish"), ("pots", "By pots from")):
        answer = page(client, variety=variety.pk, by=by)
        assert len(select(answer, "figure svg")) == 2
        assert select(answer, "figcaption")[0].startswith(words)


def test_pairs_are_shown_only_when_asked_for(client, ways):
    variety, *_ways = ways
    answer = page(client, variety=variety.pk, by="days")
    assert not elements(answer, ".pair")
    [link] = [one.get("href") for one in elements(answer, "a[href$='#pairs']")]
    assert "by=days" in link
    asked = client.get(reverse("methods-compare") + link.partition("#")[0])
    assert select(asked, ".pair h2") == ["whole leaf against leaf wedge"]
    assert elements(asked, "form input[type=hidden][name=pairs]")
    [hide] = [one.get("href") for one in elements(asked, "#pairs a")]
    assert "pairs" not in hide


def test_a_pair_in_sentences_with_the_evidence(client, ways):
    variety, *_ways = ways
    answer = page(client, variety=variety.pk, pairs=1)
    said = select(answer, ".pair p")
    assert re.match(
        r"Leaf wedge \d\d of 100 \(\d\d–\d\d, 8 lots\) against whole leaf "
        r"\d\d of 100 \(\d\d–\d\d, 4 lots\)\. "
        r"By leaf wedge more take: very likely: 9\d in 100\.",
        said[0],
    )
    assert re.match(r"By whole leaf they finish sooner: very likely: 9\d in 100", said[1])
    assert said[2] == "By leaf wedge a leaf or shoot gives more pots: very likely: 99 in 100."
    assert select(answer, ".pair tbody th") == [
        "Take, of 100",
        "Days to strike",
        "Days to finish",
        "Pots from a leaf or shoot",
    ]


def test_a_whole_crop_group(client, ways):
    variety, *_ways = ways
    answer = page(client, group=variety.group_id)
    assert "rex begonia" in select(answer, "h1")[0]
    assert column(answer, 8)[0] == "8 lots"


def test_seven_methods_are_seven_rows_and_each_against_each(client, grower):
    variety = factories.variety()
    for n in range(7):
        add(grower, variety, factories.method(name=f"way {n}"), 1, takes=12 + 5 * n, finishes=150)
    outlook.refit()
    answer = page(client, variety=variety.pk, pairs=1)
    takes = [float(text) for text in select(answer, "#in-order ~ .table td:nth-child(2) b")]
    assert len(takes) == 7
    assert takes == sorted(takes, reverse=True)
    assert len(elements(answer, ".pair")) == 21
    # The better of the two comes first, whichever is the older.
    for first, second in (
        [float(text) for text in texts]
        for texts in zip(
            select(answer, ".pair tr:first-child td:nth-child(2) b"),
            select(answer, ".pair tr:first-child td:nth-child(3) b"),
            strict=True,
        )
    ):
        assert first >= second
    assert any(said.startswith("Few lots so far") for said in select(answer, ".headline"))
    assert column(answer, 8)[0] == "1 lot: few, so it leans on others"


def test_a_method_first_used_after_the_last_fit_has_its_row(client, grower, ways):
    variety, *_ways = ways
    page(client, variety=variety.pk)
    growing.load(
        growing.grown(by=grower, variety=variety, method=factories.method(name="leaf cone"))
    )
    assert "leaf cone" in column(page(client, variety=variety.pk), 1)


def test_a_way_that_makes_no_difference_is_as_good_as_even(client, grower):
    variety = factories.variety()
    for name in ("leaf wedge", "leaf cone"):
        add(grower, variety, factories.method(name=name), 4, takes=36, finishes=150)
    outlook.refit()
    assert "as good as even" in " ".join(select(page(client, variety=variety.pk), ".headline"))


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
    said = select(page(client, variety=variety.pk, pairs=1), ".pair p")
    assert "8 lots from 2 stock plants" in said[0]
    assert "as good as even" in said[0] or re.search(r"likely: [67]\d in 100", said[0])
    assert "2 stock plants were cut both ways" in said[2]


def test_plants_cut_one_way_only_are_said_to_be(client, grower):
    variety = factories.variety()
    for name, takes in (("leaf wedge", 42), ("leaf cone", 20)):
        plant = factories.stock_plant(variety=variety)
        method = factories.method(name=name)
        add(grower, variety, method, 5, takes=takes, finishes=150, plant=plant)
    outlook.refit()
    answer = page(client, variety=variety.pk, pairs=1)
    assert "no stock plant was cut both ways" in column(answer, 7)[1]
    said = " ".join(select(answer, ".pair p"))
    assert "No stock plant was cut both ways" in said


def test_pots_of_a_leaf_need_the_pieces(client, grower):
    variety = factories.variety()
    names = "leaf wedge", "leaf cone"
    wedge, cone = (factories.method(name=name, pieces_per_source=None) for name in names)
    for method, takes in ((wedge, 30), (cone, 40)):
        add(grower, variety, method, 2, takes=takes, finishes=150)
    outlook.refit()
    answer = page(client, variety=variety.pk, by="pots", pairs=1)
    assert column(answer, 5) == ["not told", "not told"]
    assert "Pots from a leaf or shoot" not in select(answer, ".pair tbody th")
    assert "how many pieces one gives" in select(answer, "p.soft")[0]
    # Nothing is put in an order that isn't known: by the take, and the page says so.
    assert select(answer, "#in-order") == ["Best first by take"]
    assert "can't be put in order" in select(answer, "#in-order + p")[0]
    assert column(answer, 1) == ["leaf cone", "leaf wedge"]
    # One of them says it: it comes first, and the other last without a difference.
    wedge.pieces_per_source = 6
    wedge.save()
    answer = page(client, variety=variety.pk, by="pots")
    assert column(answer, 1) == ["leaf wedge", "leaf cone"]
    assert column(answer, 6) == ["the best", ""]
    assert select(answer, ".headline")[0].startswith("Only of leaf wedge can pots from a leaf")


def test_one_method_or_none_says_what_to_do(client, grower):
    assert "Choose a crop group" in select(page(client), ".empty")[0]
    variety = factories.variety()
    assert "No lot of it has been stuck" in select(page(client, variety=variety.pk), ".empty")[0]
    growing.load(growing.grown(by=grower, variety=variety))
    assert select(page(client, variety=variety.pk), ".empty")[0].startswith("Only leaf wedge has")


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
    assert column(page(client, variety=variety.pk), 8) == ["8 lots", "4 lots"]
