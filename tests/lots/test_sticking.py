"""At the bench: confirming what was really stuck."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots.models import Forecast
from tests import factories
from tests.pages import elements, select


def stick_url(lot):
    return reverse("lot-stick", args=[lot.code])


def typed(by, **fields):
    return {"units": 48, "stuck_by": by.pk, "on": timezone.localdate()} | fields


@pytest.mark.parametrize("units", [12, 48, 60], ids=["fewer", "as planned", "more"])
def test_a_grower_confirms_what_was_stuck(client, grower, units):
    lot, place = factories.planned_lot(), factories.place()
    answer = client.post(stick_url(lot), typed(grower, units=units, flat="F7", place=place.pk))
    assert answer.status_code == 302
    lot.refresh_from_db()
    assert (lot.stuck_units, lot.cells, lot.stage) == (units, units, "stuck")
    assert (lot.flat.code, lot.place, lot.stuck_by) == ("F7", place, grower)
    moments = set(Forecast.objects.filter(lot=lot).values_list("moment", flat=True))
    assert moments == {"sticking", "newest"}


def test_the_session_offers_the_planned_number_in_one_tap(client, grower):
    lot = factories.planned_lot()
    page = client.get(reverse("session", args=[lot.session_id]))
    [form] = elements(page, "form[action$='stick/']")
    sent = {e.get("name"): e.get("value") or "" for e in form.iter("input")}
    assert client.post(form.get("action"), sent).status_code == 302
    lot.refresh_from_db()
    assert (lot.stuck_units, lot.stuck_by) == (48, grower)


def test_after_the_last_lot_of_a_session_the_lot_itself_is_shown(client, grower):
    session = factories.session()
    lots = [factories.planned_lot(session=session) for _ in range(2)]
    first = client.post(stick_url(lots[0]), typed(grower))
    last = client.post(stick_url(lots[1]), typed(grower))
    assert first.url == reverse("session", args=[session.pk])
    assert last.url == reverse("lot", args=[lots[1].code])


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"units": 0}, "1"),
        ({"units": ""}, "required"),
        ({"on": timezone.localdate() + timedelta(days=2)}, "not come yet"),
        ({"on": "yesterday"}, "YYYY-MM-DD"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_stuck(client, grower, wrong, said):
    lot = factories.planned_lot()
    answer = client.post(stick_url(lot), typed(grower, flat="F7") | wrong)
    assert answer.status_code == 422
    assert said in " ".join(select(answer, ".errorlist li"))
    assert elements(answer, "[name=flat]")[0].get("value") == "F7"
    lot.refresh_from_db()
    assert not lot.is_stuck


def test_not_stuck_voids_the_tag_and_can_be_undone(client, grower):
    lot = factories.planned_lot()
    client.post(reverse("lot-not-stuck", args=[lot.code]))
    lot.refresh_from_db()
    assert lot.stage == "not stuck"
    client.post(stick_url(lot), typed(grower))
    lot.refresh_from_db()
    assert lot.stage == "stuck"


def test_who_stuck_a_lot_may_correct_it_until_it_has_records(client, grower):
    lot = factories.stuck_lot(days=0, by=grower)
    assert client.post(stick_url(lot), typed(grower, units=40)).status_code == 302
    url = reverse("lot-check", args=[lot.code])
    number = "0b0e7a5e-4a5e-4f6e-9a57-3c1f6f5f0d11"
    client.post(url, {"uuid": number, "looked_at": 40, "rooted": 0})
    assert client.post(stick_url(lot), typed(grower, units=41)).status_code == 403


def test_another_grower_may_not_correct_it_but_a_manager_may(client, grower):
    lot = factories.stuck_lot(days=0)
    assert client.get(stick_url(lot)).status_code == 403
    client.force_login(factories.manager())
    assert client.post(stick_url(lot), typed(grower, units=41)).status_code == 302


def test_a_protected_variety_whose_licence_is_gone_cannot_be_stuck(client, grower):
    lot = factories.planned_lot(variety=factories.variety(protected=True, licence="L1"))
    lot.variety.licence = ""
    lot.variety.save()
    answer = client.post(stick_url(lot), typed(grower))
    assert answer.status_code == 422
    assert "licence" in " ".join(select(answer, ".errorlist li"))


def test_the_standing_matrix(client, grower):
    lot = factories.planned_lot()
    assert client.get(reverse("lot-not-stuck", args=[lot.code])).status_code == 405
    assert client.put(stick_url(lot)).status_code == 405
    client.logout()
    assert client.post(stick_url(lot), {}).url.startswith(reverse("sign-in"))
    lot.refresh_from_db()
    assert not lot.is_stuck
