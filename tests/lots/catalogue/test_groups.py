"""Crop groups: list and form."""

import pytest
from django.urls import reverse

from lots.models import CropGroup
from tests.factories import group, manager, person, variety
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
NEW = "/groups/new/"


def test_growers_read_and_managers_write(client):
    one = group()
    assert client.get("/groups/")["Location"].startswith("/sign-in/")
    client.force_login(person())
    assert client.post("/groups/").status_code == 405
    assert not elements(client.get("/groups/"), "a[href$='change/']")
    for url in (NEW, reverse("group-change", args=[one.pk])):
        assert client.post(url, {"name": "coleus"}).status_code == 403


def test_the_list_counts_the_varieties_and_leads_to_them(client):
    one = group()
    variety(group=one)
    variety(group=one)
    group(name="coleus")
    client.force_login(person())
    page = client.get("/groups/")
    assert select(page, "tbody td:first-child") == ["coleus", "rex begonia"]
    assert select(page, "td[data-label='Varieties']") == ["0", "2"]
    assert elements(page, f"a[href='/varieties/?group={one.pk}']")


def test_a_group_is_entered_once_and_changed(client):
    client.force_login(manager())
    assert client.post(NEW, {"name": "coleus", "genus": "Coleus"})["Location"] == "/groups/"
    again = client.post(NEW, {"name": "Coleus"})
    assert again.status_code == 422
    assert "in the book already" in select(again, ".field.wrong .errorlist")[0]
    one = CropGroup.objects.get()
    client.post(reverse("group-change", args=[one.pk]), {"name": "coleus, trailing"})
    one.refresh_from_db()
    assert one.name == "coleus, trailing"


def test_a_group_has_a_name(client):
    client.force_login(manager())
    page = client.post(NEW, {"name": " "})
    assert page.status_code == 422
    assert elements(page, ".field.wrong [name=name]")
