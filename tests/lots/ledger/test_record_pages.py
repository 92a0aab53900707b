"""Logging on a lot by its pages: check, loss, pot up, finish, move, leave, void."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger
from lots.models import Finish, Leave, Loss, Move, PotUp, StrikeCheck
from tests import factories
from tests.pages import elements, select

VERBS = ["check", "loss", "pot-up", "finish", "move", "leave"]


def url(lot, verb="check"):
    return reverse(f"lot-{verb}", args=[lot.code])


def number():
    return str(uuid.uuid4())


def potted(**fields):
    lot = factories.stuck_lot(days=100, **fields)
    entry = PotUp(
        units=40,
        pots=40,
        pot_size=factories.potsize(),
        by=lot.stuck_by,
        observed_at=timezone.now() - timedelta(days=30),
    )
    ledger.record(lot, [entry])
    lot.refresh_from_db()
    return lot


def test_check_is_saved_with_its_losses_and_leads_back_to_the_lot(client, grower):
    lot = factories.stuck_lot()
    answer = client.post(
        url(lot), {"uuid": number(), "looked_at": 48, "rooted": 30, "lost_rot": 3, "lost_pest": 1}
    )
    assert answer.status_code == 302
    assert answer.url == reverse("lot", args=[lot.code])
    [check] = StrikeCheck.objects.all()
    assert (check.looked_at, check.rooted, check.whole_lot, check.by) == (48, 30, True, grower)
    assert dict(Loss.objects.values_list("reason", "units")) == {"rot": 3, "pest": 1}
    lot.refresh_from_db()
    assert (lot.stage, lot.cells, lot.cells_lost) == ("struck", 44, 4)
    assert "30 of 48 rooted, 4 lost" in select(client.get(answer.url), ".messages li")[0]


def test_a_part_looked_at_is_not_the_whole_lot(client, grower):
    lot = factories.stuck_lot()
    client.post(url(lot), {"uuid": number(), "looked_at": 10, "rooted": 4})
    assert StrikeCheck.objects.get().whole_lot is False


def test_the_same_form_sent_twice_is_stored_once(client, grower):
    lot = factories.stuck_lot()
    sent = {"uuid": number(), "looked_at": 48, "rooted": 20, "lost_rot": 3}
    first, second = client.post(url(lot), sent), client.post(url(lot), sent)
    assert first.status_code == second.status_code == 302
    assert StrikeCheck.objects.count() == Loss.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"looked_at": 60, "rooted": 5}, "looked_at", "48"),
        ({"looked_at": 10, "rooted": 12}, "rooted", "12"),
        ({"looked_at": "", "rooted": 12}, "looked_at", "required"),
        ({"looked_at": "many", "rooted": 12}, "looked_at", "whole number"),
        ({"looked_at": 10, "rooted": -1}, "rooted", "0"),
        ({"looked_at": 10, "rooted": 1, "showing": 11}, "showing", "11"),
    ],
)
def test_a_check_that_does_not_fit_is_told_at_its_field(client, grower, typed, field, said):
    lot = factories.stuck_lot()
    answer = client.post(url(lot), {"uuid": number(), "note": "wet", **typed})
    assert answer.status_code == 422
    [told] = select(answer, f"#id_{field}_error li, .field:has(#id_{field}) .errorlist li")
    assert said in told
    kept = {e.get("name"): e.get("value") for e in elements(answer, "form input")}
    for name, value in typed.items():
        assert kept[name] == (str(value) or None)
    assert kept["note"] == "wet"
    assert not StrikeCheck.objects.exists()


def test_more_lost_than_alive_is_refused_with_what_stands_in_the_book(client, grower):
    lot = factories.stuck_lot(units=12)
    answer = client.post(url(lot, "loss"), {"uuid": number(), "lost_rot": 13})
    assert answer.status_code == 422
    told = " ".join(select(answer, ".errorlist li"))
    assert "12" in told
    assert "13" in told
    assert elements(answer, "[name=lost_rot]")[0].get("value") == "13"


def test_a_loss_of_nothing_is_told(client, grower):
    lot = factories.stuck_lot()
    answer = client.post(url(lot, "loss"), {"uuid": number()})
    assert answer.status_code == 422
    assert "1 or more" in select(answer, ".errorlist li")[0]


@pytest.mark.parametrize(
    ("days", "said"), [(-1, "has not come yet"), (41, "stuck on")], ids=["future", "too early"]
)
def test_a_moment_that_cannot_be_is_told_at_the_moment(client, grower, days, said):
    lot = factories.stuck_lot(days=40)
    moment = timezone.localtime() - timedelta(days=days)
    sent = {"uuid": number(), "looked_at": 4, "rooted": 1}
    answer = client.post(url(lot), sent | {"observed_at": moment.strftime("%Y-%m-%dT%H:%M")})
    assert answer.status_code == 422
    assert said in " ".join(select(answer, ".errorlist li"))


def test_pot_up_without_a_number_of_pots_makes_one_a_unit(client, grower):
    lot, size = factories.stuck_lot(), factories.potsize()
    client.post(url(lot, "pot-up"), {"uuid": number(), "units": 20, "pot_size": size.pk})
    assert PotUp.objects.get().pots == 20
    lot.refresh_from_db()
    assert (lot.cells, lot.pots_growing) == (28, 20)


def test_finish_and_leave_move_pots_on(client, grower):
    lot = potted()
    client.post(url(lot, "finish"), {"uuid": number(), "pots": 25})
    sent = {"uuid": number(), "pots": 10, "stage": "finished", "way": "sold", "to": "stall"}
    client.post(url(lot, "leave"), sent)
    lot.refresh_from_db()
    assert (lot.pots_growing, lot.pots_finished, lot.pots_left) == (15, 15, 10)
    assert (Finish.objects.count(), Leave.objects.get().to) == (1, "stall")


def test_a_lot_in_cells_and_pots_asks_where_a_loss_was(client, grower):
    lot = potted()
    assert select(client.get(url(lot, "loss")), "legend")[0] == "Lost from"
    client.post(url(lot, "loss"), {"uuid": number(), "stage": "pot", "lost_blind": 5})
    lot.refresh_from_db()
    assert (lot.pots_lost, lot.cells_lost) == (5, 0)


def test_moving_the_whole_flat_moves_every_lot_in_it(client, grower):
    flat, old, new = factories.flat(), factories.place(), factories.place()
    lots = [factories.stuck_lot(flat=flat, place=old) for _ in range(2)]
    other = factories.stuck_lot(place=old)
    sent = {"uuid": number(), "place": new.pk, "whole_flat": "on"}
    client.post(url(lots[0], "move"), sent)
    client.post(url(lots[0], "move"), sent)
    assert Move.objects.count() == 2
    for lot, place in [(lots[0], new), (lots[1], new), (other, old)]:
        lot.refresh_from_db()
        assert lot.place == place


def test_of_two_phones_the_second_is_told_what_stands_now(client, grower):
    lot = factories.stuck_lot(units=12)
    client.post(url(lot, "loss"), {"uuid": number(), "lost_rot": 8})
    answer = client.post(url(lot, "loss"), {"uuid": number(), "lost_rot": 8})
    assert answer.status_code == 422
    assert "4" in " ".join(select(answer, ".errorlist li"))


def test_a_planned_lot_takes_no_records(client, grower):
    lot = factories.planned_lot()
    answer = client.post(url(lot), {"uuid": number(), "looked_at": 4, "rooted": 1})
    assert answer.status_code == 422
    assert "planned" in select(answer, ".errorlist li")[0]


@pytest.mark.parametrize("verb", VERBS)
def test_the_standing_matrix(client, grower, verb):
    lot = potted()
    assert client.get(url(lot, verb)).status_code == 200
    assert client.put(url(lot, verb)).status_code == 405
    assert client.get(reverse(f"lot-{verb}", args=["AAAAAA"])).status_code == 404
    assert client.post(url(lot, verb), {}).status_code == 422
    client.logout()
    assert client.get(url(lot, verb)).url.startswith(reverse("sign-in"))


def void_url(entry):
    return reverse("lot-void", args=[entry.lot.code, entry.KIND, entry.uuid])


def checked(by, lot=None):
    entry = StrikeCheck(looked_at=48, rooted=30, by=by, observed_at=timezone.now())
    [(saved, _new)] = ledger.record(lot or factories.stuck_lot(), [entry])
    return saved


def test_a_grower_voids_an_own_record_and_it_stays_visible(client, grower):
    entry = checked(grower)
    answer = client.post(void_url(entry), {"why": "wrong lot"})
    page = client.get(answer.url)
    assert "wrong lot" in select(page, ".history .voided")[0]
    entry.lot.refresh_from_db()
    assert (entry.lot.stage, entry.lot.struck_on) == ("stuck", None)
    assert client.post(void_url(entry), {"why": "again"}).status_code == 302
    entry.refresh_from_db()
    assert entry.voided_why == "wrong lot"


def test_a_grower_does_not_void_the_record_of_another(client, grower):
    entry = checked(factories.person())
    assert client.post(void_url(entry), {"why": "x"}).status_code == 403
    entry.refresh_from_db()
    assert not entry.is_voided


def test_a_manager_voids_the_record_of_another(client, boss):
    entry = checked(factories.person())
    assert client.post(void_url(entry), {"why": "x"}).status_code == 302


def test_voiding_needs_a_reason(client, boss):
    entry = checked(boss)
    assert client.post(void_url(entry), {"why": "  "}).status_code == 422


def test_a_void_that_breaks_the_sum_is_refused_with_what_depends_on_it(client, boss):
    lot = potted()
    ledger.record(lot, [Finish(pots=40, by=boss, observed_at=timezone.now())])
    answer = client.post(void_url(PotUp.objects.get()), {"why": "x"})
    assert answer.status_code == 422
    assert "finish" in select(answer, ".errorlist li")[0]
