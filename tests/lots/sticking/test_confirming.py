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


def test_a_session_stays_at_the_next_line_until_the_last_is_stuck(client, grower):
    """So that a phone isn't thrown to the top from tap to tap."""
    session = factories.session()
    lots = [factories.planned_lot(session=session, line=n) for n in range(4)]
    there = reverse("session", args=[session.pk])
    assert client.post(stick_url(lots[1]), typed(grower)).url == f"{there}#{lots[2].code}"
    not_stuck = client.post(reverse("lot-not-stuck", args=[lots[2].code]))
    assert not_stuck.url == f"{there}#{lots[3].code}"
    last_line = client.post(stick_url(lots[3]), typed(grower))
    assert last_line.url == f"{there}#{lots[0].code}"
    [line] = elements(client.get(there), f"tr[id='{lots[0].code}']")
    assert line.get("tabindex") == "-1"  # so that the keyboard goes on from there
    done = client.post(stick_url(lots[0]), typed(grower))
    assert done.url == reverse("lot", args=[lots[0].code])


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
    assert client.get(reverse("lot-not-stuck", args=[lot.code]))["Location"] == reverse(
        "lot", args=[lot.code]
    )
    assert client.put(stick_url(lot)).status_code == 405
    client.logout()
    assert client.post(stick_url(lot), {}).url.startswith(reverse("sign-in"))
    lot.refresh_from_db()
    assert not lot.is_stuck


def test_a_count_that_looks_like_a_slip_is_asked_about_once(client, grower):
    lot = factories.planned_lot(planned_units=20)
    slip = typed(grower, units=99, flat="F7")
    answer = client.post(stick_url(lot), slip)
    assert answer.status_code == 422
    assert select(answer, ".errorlist li") == ["99 of 20 planned. Is that right?"]
    assert elements(answer, "[name=flat]")[0].get("value") == "F7"
    [yes] = elements(answer, "button[name=sure]")
    # A yes is to one number: another slip is asked about again.
    other = client.post(stick_url(lot), slip | {"units": 98, "sure": yes.get("value")})
    assert other.status_code == 422
    assert client.post(stick_url(lot), slip | {"sure": yes.get("value")}).status_code == 302
    lot.refresh_from_db()
    assert lot.stuck_units == 99


@pytest.mark.parametrize(("units", "asked"), [(2, True), (3, False), (40, False), (41, True)])
def test_what_looks_like_a_slip(client, grower, units, asked):
    lot = factories.planned_lot(planned_units=20)
    answer = client.post(stick_url(lot), typed(grower, units=units))
    assert answer.status_code == (422 if asked else 302)


def test_who_confirmed_corrects_from_the_session_and_comes_back_to_it(client, grower):
    lot = factories.planned_lot()
    session = reverse("session", args=[lot.session_id])
    other = factories.person()
    client.post(stick_url(lot), typed(other))
    [link] = [e for e in elements(client.get(session), ".at-bench a") if "stick" in e.get("href")]
    sent = typed(other, units=40, why="miscounted")
    assert client.post(link.get("href"), sent).url == f"{session}#{lot.code}"
    lot.refresh_from_db()
    assert (lot.stuck_units, lot.stuck_by, lot.confirmed_by) == (40, other, grower)
    page = client.get(reverse("lot", args=[lot.code]))
    assert "Stuck units: 48 → 40" in " ".join(select(page, ".history li"))
    assert "Correct what was stuck" in select(page, "main .buttons a")
    client.force_login(factories.person())
    assert "Correct what was stuck" not in select(
        client.get(reverse("lot", args=[lot.code])), "main .buttons a"
    )
    assert "Correct" not in " ".join(select(client.get(session), ".at-bench a"))


def test_who_stuck_it_may_have_left_since(client, boss):
    lot = factories.stuck_lot(by=factories.person(is_active=False))
    sent = typed(lot.stuck_by, units=47, on=lot.stuck_on)
    assert client.post(stick_url(lot), sent).status_code == 302


def test_pots_that_look_like_a_slip_are_asked_about(client, grower):
    lot, size = factories.stuck_lot(units=30), factories.potsize(pieces_per_pot=3)
    url = reverse("lot-pot-up", args=[lot.code])
    sent = {"uuid": "0b0e7a5e-4a5e-4f6e-9a57-3c1f6f5f0d12", "units": 30, "pots": 30}
    answer = client.post(url, sent | {"pot_size": size.pk})
    assert "30 units fill 10 pots" in " ".join(select(answer, ".errorlist"))
    assert select(answer, "button[name=sure]") == ["Yes, 30"]
    assert client.post(url, sent | {"pot_size": size.pk, "sure": "30"}).status_code == 302
