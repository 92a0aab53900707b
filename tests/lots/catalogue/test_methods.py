"""Methods: list, how-to card, form."""

import pytest
from django.urls import reverse

from lots.models import Method
from tests.factories import manager, method, person
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
NEW = "/methods/new/"
FIELDS = {"name": "leaf cone", "source_part": "leaf", "needs_shoot": "on", "how_to": "Roll it."}


def test_growers_read_and_managers_write(client):
    one = method()
    assert client.get("/methods/")["Location"].startswith("/sign-in/")
    client.force_login(person())
    assert select(client.get("/methods/"), "tbody td:first-child") == ["leaf wedge"]
    assert client.post("/methods/").status_code == 405
    for url in (NEW, reverse("method-change", args=[one.pk])):
        assert client.post(url, FIELDS).status_code == 403
    assert Method.objects.count() == 1


def test_the_page_carries_the_card_and_the_caution_of_the_blade(client):
    one = method(how_to="Cut along the vein.\n\nStick it upright.")
    client.force_login(person())
    page = client.get(reverse("method", args=[one.pk]))
    assert select(page, ".keep p") == ["Cut along the vein.", "Stick it upright."]
    assert "Blades cut hands too." in select(page, ".caution")[0]
    empty = client.get(reverse("method", args=[method(name="tip cutting").pk]))
    assert "still empty" in select(empty, ".empty")[0]


def test_a_new_method_is_entered_once(client):
    client.force_login(manager())
    answer = client.post(NEW, FIELDS)
    one = Method.objects.get()
    assert answer["Location"] == reverse("method", args=[one.pk])
    again = client.post(NEW, FIELDS | {"name": "Leaf Cone"})
    assert again.status_code == 422
    assert elements(again, ".field.wrong [name=name]")
    assert Method.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "value"), [("name", ""), ("source_part", "fruit"), ("pieces_per_source", "0")]
)
def test_bad_input_is_told_at_its_field(client, field, value):
    client.force_login(manager())
    page = client.post(NEW, FIELDS | {field: value})
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={field}]")
    assert not Method.objects.exists()


def test_a_method_is_changed(client):
    client.force_login(manager())
    one = method()
    client.post(reverse("method-change", args=[one.pk]), FIELDS)
    one.refresh_from_db()
    assert one.how_to == "Roll it."
