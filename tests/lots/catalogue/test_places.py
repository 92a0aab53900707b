"""Places: list in walking order, what stands there, form."""

import pytest
from django.urls import reverse

from lots.models import Place
from tests.factories import manager, person, place, planned_lot, stuck_lot
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db
NEW = "/places/new/"


def test_signed_out_and_posts_are_turned_away(client):
    assert client.get("/places/")["Location"].startswith("/sign-in/")
    client.force_login(person())
    assert client.post("/places/").status_code == 405
    assert client.post(reverse("place", args=[place().pk])).status_code == 405


def test_the_list_is_in_walking_order_and_counts_what_stands(client, grower):
    last, first = place(name="A", walk_order=9), place(name="Z", walk_order=1)
    stuck_lot(place=first)
    stuck_lot(place=first)
    planned_lot(first_place=last)
    page = client.get("/places/")
    assert select(page, "tbody td:first-child") == ["Z", "A"]
    assert select(page, "td[data-label='Standing lots']") == ["2", "0"]


def test_the_page_shows_what_stands_there_now(client, grower):
    here = place()
    lot, _elsewhere = stuck_lot(place=here), stuck_lot(place=place())
    page = client.get(reverse("place", args=[here.pk]))
    links = [link.get("href") for link in elements(page, "ul.list a")]
    assert links == [reverse("lot", args=[lot.code])]
    assert (
        "Nothing stands here"
        in select(client.get(reverse("place", args=[place().pk])), ".empty")[0]
    )


def test_more_places_and_lots_cost_no_more_queries(client, grower):
    here = place()
    stuck_lot(place=here)
    page = reverse("place", args=[here.pk])
    before = query_count(client, "/places/"), query_count(client, page)
    for _n in range(6):
        stuck_lot(place=here)
        stuck_lot(place=place())
    assert (query_count(client, "/places/"), query_count(client, page)) == before


def test_growers_change_nothing(client, grower):
    for url in (NEW, reverse("place-change", args=[place().pk])):
        assert client.post(url, {"name": "Bench", "walk_order": 1}).status_code == 403
    assert Place.objects.count() == 1


def test_a_place_is_entered_once_and_changed(client):
    client.force_login(manager())
    answer = client.post(NEW, {"name": "North 1", "walk_order": 4})
    one = Place.objects.get()
    assert answer["Location"] == reverse("place", args=[one.pk])
    assert client.post(NEW, {"name": "north 1", "walk_order": 5}).status_code == 422
    client.post(reverse("place-change", args=[one.pk]), {"name": "North 1", "walk_order": 7})
    one.refresh_from_db()
    assert one.walk_order == 7
    assert Place.objects.count() == 1


@pytest.mark.parametrize(("field", "value"), [("name", ""), ("walk_order", "-1")])
def test_bad_input_is_told_at_its_field(client, field, value):
    client.force_login(manager())
    page = client.post(NEW, {"name": "North 1", "walk_order": 4} | {field: value})
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={field}]")
