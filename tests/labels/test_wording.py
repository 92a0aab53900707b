"""What a manager adds to the tags: own line, notices, the plant passport."""

import pytest
from django.db import IntegrityError
from django.urls import reverse

from labels.models import TagSettings
from tests import factories
from tests.labels.rows import filled, tag_settings
from tests.labels.samples import said
from tests.pages import elements, select

WORDING = "/labels/wording/"
LARGE = "Letter sheet, 2 × 5 labels 101.6 × 50.8 mm"
PASSPORT = {"passport": "on", "registration": "123456789", "member_state": "nl"}


def words_on(client, lot, **chosen) -> str:
    answer = client.get(reverse("lot-tag", args=[lot.code]), {"stock": LARGE} | chosen)
    return said(answer.content)


def test_what_is_written_stands_on_the_next_tags(client, boss):
    lot = factories.stuck_lot(variety=factories.variety(protected=True, licence="L-7"))
    assert "Protected variety: not to be propagated" in words_on(client, lot)
    page = client.get(WORDING)
    typed = filled(page, nursery_line="Three Oaks, Elmfield", pet_groups=[lot.variety.group_id])
    assert client.post(WORDING, typed)["Location"] == reverse("labels")
    words = words_on(client, lot)
    assert "Three Oaks, Elmfield" in words
    assert "Harmful to pets and people if eaten." in words
    typed = filled(client.get(WORDING), pet_groups=[])
    del typed["protected_notice"]
    client.post(WORDING, typed)
    assert "Protected" not in words_on(client, lot)
    assert "Harmful" not in words_on(client, lot)
    assert TagSettings.objects.count() == 1


def test_the_place_stands_on_the_tags_of_lots_and_stock_plants_if_asked_for(client, boss):
    here = factories.place(name="N1-07")
    lot, plant = factories.stuck_lot(place=here), factories.stock_plant(place=here)
    tag_of_plant = reverse("stock-plant-tag", args=[plant.pk]), {"stock": LARGE}
    assert "N1-07" not in words_on(client, lot) + said(client.get(*tag_of_plant).content)
    client.post(WORDING, filled(client.get(WORDING), place="on"))
    assert "N1-07" in words_on(client, lot)
    assert "N1-07" in said(client.get(*tag_of_plant).content)
    assert "N1-07" not in words_on(client, lot, kind="pot"), "pots go on"


def test_there_is_no_passport_by_default(client, boss):
    lot = factories.stuck_lot(direct_pot_size=factories.potsize())
    assert "Passport" not in words_on(client, lot, kind="pot")


def test_a_passport_stands_on_pot_tags_once_the_number_is_entered(client, boss):
    lot = factories.stuck_lot(direct_pot_size=factories.potsize())
    page = client.get(WORDING)
    assert "authority decides" in select(page, ".caution")[0]
    assert client.post(WORDING, filled(page, **PASSPORT)).status_code == 302
    words = words_on(client, lot, kind="pot")
    assert "Plant Passport" in words
    assert "B. NL-123456789" in words
    assert f"C. {lot.code}" in words
    assert "Passport" not in words_on(client, lot), "a lot's own tag stays in the house"


@pytest.mark.parametrize("missing", ["registration", "member_state"])
def test_a_passport_without_number_or_member_state_is_refused(client, boss, missing):
    answer = client.post(WORDING, filled(client.get(WORDING), **PASSPORT) | {missing: ""})
    assert answer.status_code == 422
    assert elements(answer, f".field.wrong [name={missing}]")
    assert not TagSettings.objects.exists()


def test_a_member_state_is_two_letters(client, boss):
    answer = client.post(WORDING, filled(client.get(WORDING), **PASSPORT, origin="N1"))
    assert elements(answer, ".field.wrong [name=origin]")


def test_the_database_holds_no_passport_without_a_number(db):
    with pytest.raises(IntegrityError):
        tag_settings(passport=True, member_state="NL")


def test_only_a_manager_decides_what_stands_on_tags(client, grower):
    assert client.get(WORDING).status_code == 403
    assert client.post(WORDING, PASSPORT).status_code == 403
    client.logout()
    assert client.get(WORDING)["Location"].startswith("/sign-in/")
    assert not TagSettings.objects.exists()
