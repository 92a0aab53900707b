"""The back door: managers only, and nothing there that breaks the record."""

import pytest
from django.contrib import admin
from django.urls import reverse

from lots.models import RECORDS, Cut, Forecast, Lot, Photo, Refusal
from nursery.models import Person
from tests.factories import PASSWORD, manager, person, stock_plant, stuck_lot, variety
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
KEPT = [*RECORDS.values(), Cut, Forecast, Photo, Refusal, Person]


def address(model, page, *args):
    meta = model._meta
    return reverse(f"admin:{meta.app_label}_{meta.model_name}_{page}", args=args)


def test_signing_in_is_our_own(client):
    page = client.get("/back-door/", follow=True)
    assert page.redirect_chain[-1][0].startswith("/sign-in/?next=/back-door/")
    given = {"username": manager().username, "password": PASSWORD}
    page = client.post(page.redirect_chain[-1][0], given, follow=True)
    assert select(page, "h1") == ["Tables"]


def test_a_grower_is_told_that_it_is_for_managers(client):
    client.force_login(person())
    page = client.get("/back-door/", follow=True)
    assert page.status_code == 403
    assert select(page, ".note") == ["Only a manager can do this."]


@pytest.mark.parametrize("model", admin.site._registry, ids=lambda model: model.__name__)
def test_every_list_opens(client, boss, model):
    stuck_lot(plants=(stock_plant(),))
    assert client.get(address(model, "changelist")).status_code == 200
    assert client.get(address(model, "changelist"), {"q": "7"}).status_code == 200


@pytest.mark.parametrize("model", KEPT, ids=lambda model: model.__name__)
def test_what_keeps_the_rules_is_read_only(client, boss, model):
    assert client.get(address(model, "add")).status_code == 403
    lot = stuck_lot(plants=(stock_plant(),))
    row = {Cut: lot.cuts.first(), Forecast: lot.forecasts.first(), Person: boss}.get(model)
    if row:
        page = client.get(address(model, "change", row.pk))
        assert not elements(page, "input[type=submit]")
        assert client.post(address(model, "change", row.pk), {}).status_code == 403
        assert client.post(address(model, "delete", row.pk), {"post": "yes"}).status_code == 403


def test_a_lot_keeps_its_counts_whatever_is_sent(client, boss):
    lot = stuck_lot(units=48)
    url = address(Lot, "change", lot.pk)
    client.post(url, {"note": "seen", "cells": 7, "stuck_units": 7, "stage": "closed"})
    lot.refresh_from_db()
    assert (lot.note, lot.cells, lot.stuck_units, lot.stage) == ("seen", 48, 48, "stuck")
    assert client.post(address(Lot, "delete", lot.pk), {"post": "yes"}).status_code == 403
    assert client.get(address(Lot, "add")).status_code == 403


def test_a_catalogue_row_in_use_is_not_deleted(client, boss):
    used, spare = stuck_lot().variety, variety()
    for row in (used, spare):
        client.post(address(type(row), "delete", row.pk), {"post": "yes"})
    assert type(used).objects.filter(pk=used.pk).exists()
    assert not type(spare).objects.filter(pk=spare.pk).exists()


def test_no_password_is_shown(client, boss):
    page = client.get(address(Person, "change", boss.pk)).content.decode()
    assert boss.password not in page
    assert "md5$" not in page


@pytest.mark.parametrize(
    "lookup",
    ["password__startswith", "pin__startswith", "sign_ins__pk__startswith", "last_login__year"],
)
def test_nobody_is_found_by_what_is_secret(client, boss, lookup):
    """Else the answer, some or none, gives it away letter by letter."""
    page = reverse("admin:nursery_person_changelist")
    assert client.get(page, {lookup: "a"}).status_code == 400
    assert client.get(page, {"role__exact": "grower"}).status_code == 200
