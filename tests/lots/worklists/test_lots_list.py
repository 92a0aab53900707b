"""The list of lots: each filter, each order, and the same rows as CSV."""

import csv
from io import StringIO

import pytest
from django.urls import reverse
from django.utils import timezone

from lots.forms.ledger.filters import SORTS
from lots.models import Flat, Lot, Stage
from lots.supply import benches
from tests import factories
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def listed(client, **query) -> list[str]:
    return select(client.get(reverse("lots"), query), "tbody .code")


def in_csv(client, **query) -> list[dict]:
    answer = client.get(reverse("lots-csv"), query)
    return list(csv.DictReader(StringIO(answer.content.decode())))


@pytest.fixture
def lots(grower):
    near = factories.place(name="North 02", walk_order=2)
    far = factories.place(name="South 01", walk_order=9)
    one = factories.stuck_lot(
        days=50, units=30, place=far, variety=factories.variety(genus="Aeschynanthus")
    )
    two = factories.stuck_lot(
        days=10,
        units=48,
        place=near,
        flat=factories.flat(code="F7"),
        variety=factories.variety(genus="Zebrina"),
        method=factories.method(name="tip cutting"),
    )
    return one, two


@pytest.mark.parametrize(
    "query",
    [
        {"bench": "North"},
        {"flat": "f7"},
        {"method": "tip cutting"},
        {"age": "0-30"},
        {"q": "zebr"},
    ],
)
def test_each_filter_on_the_page_and_in_the_file(client, lots, query):
    _one, two = lots
    if "method" in query:
        query = {"method": two.method_id}
    assert listed(client, **query) == [str(two)]
    assert [row["code"] for row in in_csv(client, **query)] == [two.code]
    page = client.get(reverse("lots"), query)
    [leads] = [a.get("href") for a in elements(page, "main a") if "lots.csv" in a.get("href", "")]
    assert client.get(leads).content == client.get(reverse("lots-csv"), query).content


@pytest.mark.parametrize(
    ("sort", "first"),
    [("newest", 1), ("oldest", 0), ("name", 0), ("place", 1), ("cells", 1), ("finished", 1)],
)
def test_each_order(client, lots, sort, first):
    assert listed(client, sort=sort)[0] == str(lots[first])
    assert sort in SORTS


def test_what_is_to_be_potted_up_is_what_the_week_says(client, lots):
    one, _two = lots
    Lot.objects.filter(pk=one.pk).update(stage=Stage.STRUCK, struck_on=timezone.localdate())
    assert listed(client, stage="to-pot-up") == [str(row.lot) for row in benches.to_pot_up()]
    assert listed(client, stage="to-pot-up") == [str(one)]


def test_the_file_says_what_the_row_says_and_starts_no_formula(client, lots):
    Flat.objects.filter(code="F7").update(code="=1+1")
    [row] = in_csv(client, q="zebr")
    assert (row["cells"], row["stage"], row["place"]) == ("48", "stuck", "North 02")
    assert not row["flat"].startswith("=")


def test_on_one_page_are_all_and_a_long_list_has_its_onward_row(client, grower):
    for _n in range(52):
        factories.stuck_lot()
    page = client.get(reverse("lots"))
    [onward] = elements(page, "tr.onward")
    assert onward.get("hx-get") == "?page=2"
    assert "page=2" in elements(page, "tr.onward a[rel=next]")[0].get("href")
    assert elements(client.get(reverse("lots"), {"page": 2}), "tr.onward[hx-get]") == []
    assert len(listed(client, whole=1)) == 52
