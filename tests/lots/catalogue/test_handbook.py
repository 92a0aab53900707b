"""What forecasts lean on: the handbook's row that a group roots like and a method is cut like."""

from importlib import import_module
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection
from django.urls import reverse

from lots import outlook
from lots.models import CropGroup, Fit, Method
from lots.outlook import stored_fit
from tests.factories import group, method, planned_lot, stuck_lot, variety
from tests.lots import books
from tests.pages import elements, select

NEW_GROUP, NEW_METHOD = "/groups/new/", "/methods/new/"
OWN_WAY = {"name": "our own way", "source_part": "leaf"}


def days_to_strike(lot) -> tuple[int, int]:
    """Of the forecast that is kept: with a chance of 1 and of 9 in 10."""
    forecast = lot.forecasts.get(moment="newest")
    start = lot.stuck_on or lot.session.day
    return (forecast.struck_p10 - start).days, (forecast.struck_p90 - start).days


def test_a_new_row_leans_as_its_name_says(client, boss):
    client.post(NEW_GROUP, {"name": "Begonia (cane)", "roots_like": "by name"})
    client.post(NEW_METHOD, {"name": "Tips", "source_part": "stem"})
    assert CropGroup.objects.get().roots_like == "cane begonia"
    assert Method.objects.get().cut_like == "tip cutting"


@pytest.mark.parametrize(
    ("url", "typed", "field", "model", "like"),
    [
        (NEW_GROUP, {"name": "house mix"}, "roots_like", CropGroup, "hoya"),
        (NEW_METHOD, OWN_WAY, "cut_like", Method, "leaf cone"),
    ],
)
def test_a_name_that_the_handbook_does_not_know_is_asked_about(
    client, boss, url, typed, field, model, like
):
    page = client.post(url, typed | {field: "by name"})
    assert page.status_code == 422
    assert "choose what it is like" in select(page, ".field.wrong .errorlist")[0]
    assert elements(page, f"[name=name][value='{typed['name']}']")
    client.post(url, typed | {field: like})
    one = model.objects.get()
    assert getattr(one, field) == like
    change = url.replace("new", f"{one.pk}/change")
    assert select(client.get(change), f"[name={field}] option[selected]") == [like]
    client.post(change, typed | {field: "none"})
    one.refresh_from_db()
    assert getattr(one, field) == ""
    chosen = select(client.get(change), f"[name={field}] option[selected]")
    assert chosen == ["like nothing in the handbook"]


def test_what_the_handbook_does_not_have_cannot_be_chosen(client, boss):
    page = client.post(NEW_GROUP, {"name": "rex begonia", "roots_like": "cactus"})
    assert page.status_code == 422
    assert elements(page, ".field.wrong [name=roots_like]")


def test_a_new_name_does_not_move_the_forecasts_and_a_new_row_does(
    client, boss, django_capture_on_commit_callbacks
):
    lot = planned_lot()
    assert days_to_strike(lot) == (28, 49)
    change = reverse("group-change", args=[lot.variety.group_id])
    client.post(change, {"name": "showroom plants", "roots_like": "rex begonia"})
    outlook.refit()
    assert days_to_strike(lot) == (28, 49)
    Fit.objects.update(changed_at=None)
    assert not stored_fit.is_behind()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(change, {"name": "showroom plants", "roots_like": "african violet"})
    assert stored_fit.is_behind()
    outlook.refit()
    # Leaf wedges of African violets are no row: the leaf's wide range stands in.
    assert days_to_strike(lot) == (24, 56)


def test_a_lot_says_which_row_its_forecast_leans_on(client, grower):
    page = client.get(reverse("lot", args=[stuck_lot().code]))
    [told] = [text for text in select(page, "p.small.soft") if "handbook" in text]
    assert "The handbook’s row: leaf wedge of rex begonia. Common practice, no source" in told
    assert elements(page, "a[href='/handbook/#rex-begonia']")
    odd = stuck_lot(variety=variety(group=group(name="house mix")))
    page = client.get(reverse("lot", args=[odd.code]))
    [told] = [text for text in select(page, "p.small.soft") if "handbook" in text]
    assert "no row for leaf wedge of house mix: its wide range for pieces of leaf" in told
    assert elements(page, "a[href='/handbook/#else']")


def test_groups_and_methods_say_what_they_lean_on(client, grower):
    group()
    group(name="house mix")
    way = method(name="stool", source_part="crown")
    cells = select(client.get("/groups/"), "td[data-label='Roots like']")
    assert cells == ["nothing in the handbook", "rex begonia"]
    assert "nothing in the handbook" in select(client.get(f"/methods/{way.pk}/"), ".facts")[0]
    tips = method(name="Tip cuttings", source_part="stem")
    assert "the handbook’s tip cutting" in select(client.get(f"/methods/{tips.pk}/"), ".facts")[0]


def test_the_handbook_can_be_read(client, grower):
    group(name="Begonias, rex")
    page = client.get("/handbook/")
    [row] = [
        text
        for text in select(page, "section[aria-labelledby=rex-begonia] tr")
        if text.startswith("leaf wedge")
    ]
    assert row.startswith("leaf wedge 28–49 122–210 55–95 Common practice")
    assert "Begonias, rex" in select(page, "section[aria-labelledby=rex-begonia] p")[0]
    assert len(select(page, "section[aria-labelledby=else] tbody tr")) == 5
    client.logout()
    assert client.get("/handbook/")["Location"].startswith("/sign-in/")


BARE = {
    "crops": ["group", "Begonia rex", "house mix"],
    "methods": ["method,source_part,needs_shoot", "tips,stem,no"],
}


def test_files_without_the_columns_propose_by_name(tmp_path, db):
    assert not books.faults_of(tmp_path, **BARE)
    likes = dict(CropGroup.objects.values_list("name", "roots_like"))
    assert likes == {"Begonia rex": "rex begonia", "house mix": ""}
    assert Method.objects.get().cut_like == "tip cutting"
    # Brought in again, they leave alone what was chosen since.
    CropGroup.objects.update(roots_like="hoya")
    assert not books.faults_of(tmp_path, **BARE)
    assert {one.roots_like for one in CropGroup.objects.all()} == {"hoya"}


def test_files_say_what_a_row_leans_on(tmp_path, db):
    crops = ["group,roots_like", "Begonia rex,", "house mix,hoya"]
    assert not books.faults_of(tmp_path, crops=crops)
    likes = dict(CropGroup.objects.values_list("name", "roots_like"))
    assert likes == {"Begonia rex": "", "house mix": "hoya"}


def test_what_the_handbook_does_not_have_is_a_fault_with_what_it_has(tmp_path, db):
    [says] = books.faults_of(tmp_path, crops=["group,roots_like", "house mix,cactus"])
    assert "row 2, column roots_like: “cactus” is none of these: rex begonia" in says
    methods = ["method,source_part,needs_shoot,cut_like", "tips,stem,no,slice"]
    [says] = books.faults_of(tmp_path / "more", methods=methods)
    assert "row 2, column cut_like: “slice” is none of these: whole leaf" in says


def test_groups_and_methods_of_before_lean_on_what_their_names_matched(db):
    for name in ("Begonia rex", "house mix"):
        CropGroup.objects.create(name=name)
    Method.objects.create(name="leaf wedges", source_part="leaf")
    import_module("lots.migrations.0009_handbook").propose(
        apps, SimpleNamespace(connection=connection)
    )
    found = dict(CropGroup.objects.values_list("name", "roots_like"))
    assert found == {"Begonia rex": "rex begonia", "house mix": ""}
    one = Method.objects.get()
    assert (one.cut_like, one.history.latest().cut_like) == ("leaf wedge", "leaf wedge")
