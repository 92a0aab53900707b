"""The page of a lot, in every stage; it costs the same in a large book."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger
from lots.models import Finish, Leave, Loss, PotUp, StrikeCheck
from tests import factories
from tests.pages import query_count, select


def page(client, lot):
    return client.get(reverse("lot", args=[lot.code]))


def log(lot, model, days_ago=1, **fields):
    moment = timezone.now() - timedelta(days=days_ago)
    ledger.record(lot, [model(by=lot.stuck_by, observed_at=moment, **fields)])
    lot.refresh_from_db()


def test_a_stuck_lot_says_what_it_is_and_what_is_expected(client, grower):
    lot = factories.stuck_lot(days=10, place=factories.place(name="2-07"), flat=factories.flat())
    answer = page(client, lot)
    assert select(answer, "h1") == [str(lot.variety)]
    head = " ".join(select(answer, "main p"))
    assert f"{lot.code[:3]}-{lot.code[3:]}" in head
    assert "day 10" in head
    assert "2-07" in head
    assert "48 stuck" in select(answer, ".counts")[0]
    assert "likely between" in select(answer, ".facts dd")[0]
    assert "Common practice, no source" in " ".join(select(answer, "p.soft"))
    assert select(answer, ".actions a") == ["Strike check", "Loss", "Pot up", "Move"]


def test_the_actions_follow_the_stage(client, grower):
    lot = factories.planned_lot()
    assert select(page(client, lot), ".actions a, .actions button") == [
        "Confirm sticking",
        "Not stuck",
    ]
    lot = factories.stuck_lot(days=150)
    log(lot, PotUp, 60, units=48, pots=48, pot_size=factories.potsize())
    assert select(page(client, lot), ".actions a") == ["Finish", "Pots go out", "Loss", "Move"]
    log(lot, Finish, 2, pots=48)
    assert select(page(client, lot), ".actions a") == ["Pots go out", "Move"]
    log(lot, Leave, 1, pots=48)
    assert select(page(client, lot), ".actions a") == []
    assert "gone out" in select(page(client, lot), ".counts")[0]


def test_the_tag_of_a_lot_never_stuck_is_void_and_says_so(client, grower):
    lot = ledger.not_stuck(factories.planned_lot())
    assert "void" in select(client.get(f"/T/{lot.code}", follow=True), ".note")[0]


def test_a_direct_stuck_lot_has_no_pot_up(client, grower):
    lot = factories.stuck_lot(direct_pot_size=factories.potsize())
    assert "Pot up" not in select(page(client, lot), ".actions a")
    assert client.get(reverse("lot-pot-up", args=[lot.code])).status_code == 200


def test_heavy_losses_are_pointed_out(client, grower):
    lot = factories.stuck_lot()
    log(lot, Loss, units=40, reason="rot", stage="cell")
    assert "More is lost" in " ".join(select(page(client, lot), ".note"))


def test_the_next_due_lot_comes_in_walking_order(client, grower):
    places = [factories.place() for _ in range(3)]
    lots = [factories.stuck_lot(days=60, place=place) for place in places]
    for here, there in zip(lots, [*lots[1:], lots[0]], strict=True):
        [said] = select(page(client, here), ".next")
        assert f"{there.code[:3]}-{there.code[3:]}" in said


def test_a_lot_just_looked_at_is_no_longer_next(client, grower):
    here, there = (factories.stuck_lot(days=60, place=factories.place()) for _ in range(2))
    log(there, StrikeCheck, 0, looked_at=48, rooted=1)
    assert select(page(client, here), ".next") == []


def test_a_grower_is_not_offered_what_a_manager_does(client, grower):
    lot = factories.stuck_lot()
    log(lot, StrikeCheck, looked_at=48, rooted=1)
    said = select(page(client, lot), "main a")
    assert not {"Print the tag", "Correct what was stuck"} & set(said)
    assert not any(word.startswith("Void") for word in said)


@pytest.mark.parametrize("stage", ["stuck", "potted"])
def test_more_of_everything_takes_no_more_queries(client, grower, stage):
    flat, place = factories.flat(), factories.place()
    lot = factories.stuck_lot(days=90, flat=flat, place=place)
    log(lot, StrikeCheck, 30, looked_at=48, rooted=30)
    log(lot, Loss, 30, units=1, reason="rot", stage="cell")
    if stage == "potted":
        log(lot, PotUp, 20, units=10, pots=10, pot_size=factories.potsize())
    factories.stuck_lot(days=90, flat=flat, place=place)
    url = reverse("lot", args=[lot.code])
    client.get(url)
    before = query_count(client, url)
    for _ in range(10):
        factories.stuck_lot(days=90, flat=flat, place=factories.place())
        log(lot, StrikeCheck, 10, looked_at=20, rooted=9)
        log(lot, Loss, 9, units=1, reason="rot", stage="cell")
    assert query_count(client, url) == before
