"""Dropping a trial that was planned by mistake."""

import pytest
from django.urls import reverse

from lots import ledger
from lots.models import Cut, Lot, Stage
from lots.sticking import side_by_side
from tests import factories
from tests.lots.trialling import grow, planned
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def drop(client, trial):
    return client.post(reverse("trial-drop", args=[trial.pk]), follow=True)


def button(client, trial):
    page = client.get(reverse("trial", args=[trial.pk]))
    return elements(page, f"form[action='{reverse('trial-drop', args=[trial.pk])}']")


def test_a_planned_trial_is_dropped_with_its_lots(client, boss):
    plant = factories.stock_plant()
    other = factories.planned_lot(line=99, plants=(plant,))
    trial = planned(session=other.session, variety=plant.variety, plants=[plant])
    assert button(client, trial)
    page = drop(client, trial)
    assert "The trial was dropped" in select(page, ".messages li")[0]
    assert "none of its lots is stuck" in select(page, ".note")[0]
    assert set(Lot.objects.filter(arm__trial=trial).values_list("stage", flat=True)) == {
        Stage.NOT_STUCK
    }
    other.refresh_from_db()
    assert other.stage == Stage.PLANNED
    # What is left is first to be cut, with clean tools.
    assert Cut.objects.filter(lot=other).values_list("order", "disinfected_before").get() == (
        1,
        True,
    )
    assert not button(client, trial)
    session = client.get(reverse("session", args=[trial.session_id]))
    assert not elements(session, f"a[href='{reverse('trial', args=[trial.pk])}']")
    assert select(client.get(reverse("trials")), ".list b") == ["dropped"]


def test_dropping_it_twice_changes_nothing(client, boss):
    trial = planned()
    for _time in range(2):
        assert drop(client, trial).status_code == 200
    assert all(bed.left_out for bed in side_by_side.beds(trial))


def test_once_a_lot_is_stuck_the_trial_stays(client, boss):
    trial = planned(flats=2)
    last = side_by_side.beds(trial)[1].lots[1]
    ledger.stick(last, units=12, on=trial.session.day, by=boss, flat=last.flat)
    assert not button(client, trial)
    page = drop(client, trial)
    last.refresh_from_db()
    assert f"{last} is stuck already" in select(page, ".messages li")[0]
    stages = list(Lot.objects.order_by("stage").values_list("stage", flat=True))
    assert stages == ["planned"] * 3 + ["stuck"]


def test_a_dropped_trial_lives_again_if_it_is_stuck_after_all(client, boss):
    trial = planned(flats=1)
    drop(client, trial)
    Lot.objects.update(stage=Stage.PLANNED)
    grow(trial, boss, a=10, b=4)
    [bed] = side_by_side.beds(trial)
    assert (bed.left_out, bed.counted) == (False, [(10, 12), (4, 12)])


def test_only_managers_and_only_by_post(client, boss):
    trial = planned()
    url = reverse("trial-drop", args=[trial.pk])
    assert client.get(url)["Location"] == reverse("trial", args=[trial.pk])
    client.force_login(factories.person())
    assert client.post(url).status_code == 403
    assert not button(client, trial)
    client.logout()
    assert client.post(url)["Location"].startswith("/sign-in/")
    assert set(Lot.objects.values_list("stage", flat=True)) == {Stage.PLANNED}
