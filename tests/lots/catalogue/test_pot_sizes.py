"""Pot sizes: list and form."""

import pytest
from django.urls import reverse

from lots.models import PotSize
from tests.factories import manager, person, potsize
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
NEW = "/pot-sizes/new/"
FIELDS = {"name": "11 cm", "diameter_cm": "11", "pieces_per_pot": "3", "least_struck": "2"}


def test_growers_read_and_managers_write(client):
    one = potsize()
    assert client.get("/pot-sizes/")["Location"].startswith("/sign-in/")
    client.force_login(person())
    assert client.post("/pot-sizes/").status_code == 405
    page = client.get("/pot-sizes/")
    assert select(page, "tbody td:first-child") == ["9 cm"]
    assert not elements(page, "main a")
    for url in (NEW, reverse("pot-size-change", args=[one.pk])):
        assert client.post(url, FIELDS).status_code == 403


def test_a_pot_size_is_entered_once_and_changed(client):
    client.force_login(manager())
    assert client.post(NEW, FIELDS)["Location"] == "/pot-sizes/"
    again = client.post(NEW, FIELDS)
    assert again.status_code == 422
    assert elements(again, "input[name=pieces_per_pot]")[0].get("value") == "3"
    one = PotSize.objects.get()
    client.post(reverse("pot-size-change", args=[one.pk]), FIELDS | {"least_struck": "3"})
    one.refresh_from_db()
    assert one.least_struck == 3


@pytest.mark.parametrize(
    ("given", "at"),
    [
        ({"least_struck": "4"}, "least_struck"),
        ({"least_struck": "0"}, "least_struck"),
        ({"diameter_cm": "0"}, "diameter_cm"),
        ({"pieces_per_pot": "many"}, "pieces_per_pot"),
    ],
)
def test_bad_input_is_told_at_its_field(client, given, at):
    client.force_login(manager())
    page = client.post(NEW, FIELDS | given)
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={at}]")
    assert not PotSize.objects.exists()
