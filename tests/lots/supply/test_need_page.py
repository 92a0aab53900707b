"""How many to stick, as a page: it says what the command says, and what being surer costs."""

import json
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from lots.models import Target
from tests import factories
from tests.lots import growing
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db
PAGE = "/how-many/"


@pytest.fixture
def variety():
    """A year and a half of lots of which three in four take."""
    by, method = factories.person(), factories.method(source_part="leaf", pieces_per_source=4)
    variety = factories.variety()
    of = {"by": by, "variety": variety, "method": method}
    growing.load(
        *(
            growing.grown(days, finishes=110, takes=34 + days % 5, **of)
            for days in range(130, 530, 13)
        )
    )
    factories.stock_plant(code="RX-1", variety=variety, pieces_per_cut=30, rest_weeks=4)
    growing.learn()
    return variety


def asked(variety, **more):
    by = timezone.localdate() + timedelta(days=200)
    return {"variety": variety.pk, "want": 40, "by": by.isoformat()} | more


def test_it_says_what_the_command_says(client, grower, variety):
    out = StringIO()
    told = asked(variety)
    words = {"variety": variety.code, "want": 40, "by": told["by"]}
    call_command("howmany", "--json", method=variety.lots.first().method.name, **words, stdout=out)
    found = json.loads(out.getvalue())
    page = client.get(PAGE, told)
    [headline] = select(page, "p.headline")
    day = date.fromisoformat(found["stick_by"])
    assert headline.startswith(f"Stick {found['units']} units on {day:%A} {day.day} {day:%B %Y}")
    text = " ".join(select(page, "section[aria-labelledby=answer] p"))
    assert f"Dividing by the average take gives {found['naive']['units']}" in text
    [plant] = select(page, "section[aria-labelledby=plants] li")
    assert "RX-1 · 30 pieces (8 leaves)" in plant
    assert f"{found['short_of_pieces']} pieces are short" in page.content.decode()


def test_it_says_what_being_surer_and_later_costs(client, grower, variety):
    page = client.get(PAGE, asked(variety))
    rows = [row.split() for row in select(page, "section[aria-labelledby=surer] tbody tr")]
    units, chances = [int(row[0]) for row in rows], [int(row[-1]) for row in rows]
    assert units == sorted(units)
    assert chances == sorted(chances)
    assert {90, 95} <= set(chances)
    rows = select(page, "section[aria-labelledby=sooner] tbody tr")
    later = [int(row.split()[-1]) for row in rows]
    assert later == sorted(later, reverse=True)
    assert len(elements(page, "figure.chart")) == 2


def test_nothing_asked_is_an_empty_form(client, grower):
    page = client.get(PAGE)
    assert page.status_code == 200
    assert "falls short" in " ".join(select(page, "p.empty"))
    assert not select(page, ".errorlist")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"want": "0"}, "1 is the least"),
        ({"want": 10**9}, "100000"),
        ({"by": "2020-01-01"}, "That day is over"),
        ({"on": "2020-01-01"}, "nothing can be stuck on it"),
        ({"by": "soon"}, "day"),
        ({"confidence": "2"}, "2"),
    ],
)
def test_what_cannot_be_asked_is_told_and_typed_stays(client, grower, variety, wrong, says):
    page = client.get(PAGE, asked(variety) | {"want": 41} | wrong)
    assert page.status_code == 200
    assert says in " ".join(select(page, ".errorlist"))
    assert not select(page, "p.headline")
    value = elements(page, "input[name=want]")[0].get("value")
    assert value == str(wrong.get("want", 41))


def test_a_variety_that_was_never_stuck_asks_for_the_method(client, grower):
    variety, method = factories.variety(), factories.method()
    page = client.get(PAGE, asked(variety))
    assert "choose one" in " ".join(select(page, ".errorlist"))
    page = client.get(PAGE, asked(variety, method=method.pk))
    assert "the handbook alone" in " ".join(select(page, "dd"))


def test_too_late_is_said(client, grower, variety):
    soon = (timezone.localdate() + timedelta(days=9)).isoformat()
    page = client.get(PAGE, asked(variety, by=soon))
    assert "no number will do" in " ".join(select(page, "p.note"))


def test_a_short_target_on_today_leads_here(client, boss, variety):
    size = factories.potsize()
    by = timezone.localdate() + timedelta(days=40)
    Target.objects.create(variety=variety, pot_size=size, pots=9000, wanted_by=by)
    links = [a.get("href") for a in elements(client.get(reverse("today")), "a")]
    [link] = [href for href in links if href.startswith(PAGE + "?")]
    form = client.get(link).context["form"]
    assert form.is_valid()
    assert form.cleaned_data["pot_size"] == size
    assert form.cleaned_data["by"] == by
    assert 0 < form.cleaned_data["want"] < 9000


def test_more_plants_take_no_more_queries(client, grower, variety):
    address = PAGE + "?" + "&".join(f"{name}={value}" for name, value in asked(variety).items())
    before = query_count(client, address)
    for _n in range(4):
        factories.stock_plant(variety=variety, pieces_per_cut=5)
    assert query_count(client, address) <= before
