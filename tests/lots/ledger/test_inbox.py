"""Records from phones that were out of reach: `POST /sync/`."""

import json

import pytest
from django.test import Client

from lots import ledger
from lots.models import RECORDS, Loss, Move, Refusal, StrikeCheck
from tests.factories import place, potsize, stuck_lot
from tests.lots.entries import loss
from tests.lots.sending import answer, answers, post, record, refused
from tests.pages import select

pytestmark = pytest.mark.django_db


def test_every_kind_is_taken(client, grower):
    place(name="1-01")
    potsize(name="9 cm")
    lot = stuck_lot(units=12)
    sent = [record(lot, kind, days=20 - n) for n, kind in enumerate(RECORDS)]
    assert [one["status"] for one in answers(client, *sent)] == ["saved"] * 6
    lot.refresh_from_db()
    assert (lot.cells, lot.cells_lost, lot.units_potted) == (1, 1, 10)
    assert (lot.pots_growing, lot.pots_finished, lot.pots_left) == (2, 1, 2)
    assert (lot.place.name, lot.leave_set.get().to) == ("1-01", "market")
    assert {model.objects.get().by for model in RECORDS.values()} == {grower}
    assert [one["status"] for one in answers(client, *sent)] == ["already"] * 6


def test_a_move_may_say_what_it_moves(client, grower):
    bench, house = place(name="1-01"), place(name="3-01")
    potsize(name="9 cm")
    lot = stuck_lot(units=20, place=bench)
    sent = [
        record(lot, "potup", 9),
        record(lot, "move", 8, place="3-01", what="pots"),
        record(lot, "move", 7, what=""),
        record(lot, "move", 6, place="3-01", what="cells"),
    ]
    assert [one["status"] for one in answers(client, *sent)] == ["saved"] * 4
    assert list(Move.objects.order_by("pk").values_list("what", flat=True)) == [
        "pots",
        "all",
        "cells",
    ]
    lot.refresh_from_db()
    assert (lot.place, lot.pots_place) == (house, bench)
    assert "what" in refused(client, record(lot, "move", 1, what="everything"))


def test_a_batch_is_answered_one_by_one(client, grower):
    lot = stuck_lot(units=10)
    sent = [record(lot, units=9, days=3), record(lot, units=2, days=2), record(lot, days=1)]
    got = answers(client, *sent)
    assert [one["uuid"] for one in got] == [one["uuid"] for one in sent]
    assert [one["status"] for one in got] == ["saved", "refused", "saved"]


def test_what_is_refused_is_kept_once_as_it_was_sent(client, grower):
    lot = stuck_lot(units=10)
    sent = record(lot, units=11, note="whole flat?")
    for _ in range(3):
        assert "10" in refused(client, sent)
    kept = Refusal.objects.get()
    assert (kept.sent, kept.lot_text, kept.by) == (sent, lot.code, grower)
    assert "10" in kept.why


def test_sent_again_and_saved_it_is_settled(client, grower):
    lot = stuck_lot(units=10)
    [(mistake, _)] = ledger.record(lot, [loss(grower, 5)])
    sent = record(lot, units=8, days=0)
    refused(client, sent)
    ledger.void(mistake, by=grower, why="counted twice")
    assert answer(client, sent)["status"] == "saved"
    kept = Refusal.objects.get()
    assert kept.settled_at
    assert kept.settled_by == grower


def test_what_somebody_has_settled_stays_settled(client, grower):
    lot = stuck_lot(units=10)
    sent = record(lot, units=11)
    refused(client, sent)
    kept = Refusal.objects.get()
    client.post(f"/refused/{kept.pk}/", {"how": "counted again"})
    refused(client, sent)
    kept.refresh_from_db()
    assert kept.settled_how == "counted again"
    assert Refusal.objects.count() == 1


def test_the_page_of_a_refused_record_shows_what_was_sent(client, grower):
    refused(client, record(stuck_lot(units=10), units=11, note="<b>whole</b> flat"))
    page = client.get(f"/refused/{Refusal.objects.get().pk}/")
    assert "<b>whole</b> flat" in select(page, ".facts dd")
    assert "11" in select(page, ".facts dd")


def test_records_without_a_number_of_their_own_are_each_kept(client, grower):
    """None of them is dropped for having the same no-number as another."""
    lot = stuck_lot(units=10)
    for _ in range(2):
        for uuid in (None, "", "x" * 60 + "1", "x" * 60 + "2", 5, [], {}):
            assert "uuid" in refused(client, record(lot, uuid=uuid))
        missing = record(lot)
        del missing["uuid"]
        del missing["observed_at"]
        assert "uuid" in refused(client, missing)
    assert Refusal.objects.count() == 2 * 7 + 1  # the moments of all but the last differ


def test_one_number_however_it_is_written(client, grower):
    lot = stuck_lot(units=10)
    sent = record(lot)
    assert answer(client, sent)["status"] == "saved"
    again = sent | {"uuid": sent["uuid"].upper().replace("-", "")}
    assert answer(client, again)["status"] == "already"
    wrong = record(lot, units=99)
    refused(client, wrong)
    refused(client, wrong | {"uuid": wrong["uuid"].upper()})
    assert Refusal.objects.count() == 1


def test_an_answer_that_was_lost_is_given_again_though_the_place_has_another_name(client, grower):
    bench = place(name="1-01")
    sent = record(stuck_lot(), "move")
    assert answer(client, sent)["status"] == "saved"
    type(bench).objects.filter(pk=bench.pk).update(name="North 1")
    assert answer(client, sent)["status"] == "already"
    assert Move.objects.count() == 1


def test_the_first_sending_stands(client, grower):
    lot = stuck_lot(units=10)
    sent = record(lot, units=2)
    answer(client, sent)
    assert answer(client, sent | {"units": 5, "reason": "pest"})["status"] == "already"
    assert (Loss.objects.get().units, Loss.objects.get().reason) == (2, "rot")


def test_the_number_of_another_lot_or_kind_is_refused(client, grower):
    lot, other = stuck_lot(units=10), stuck_lot(units=10)
    sent = record(lot)
    answer(client, sent)
    assert "another lot" in refused(client, sent | {"lot": other.code})
    assert "something else" in refused(client, record(lot, "check", uuid=sent["uuid"]))
    assert "another lot" in refused(client, record(other, "check", uuid=sent["uuid"]))


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff\xfe\x00",
        b"[]",
        b"null",
        b'"records"',
        b"{}",
        b'{"records": {}}',
        b'{"records": null}',
        b'{"records": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"records": [' + b"9" * 5000 + b"]}",
    ],
    ids=range(11),
)
def test_what_is_no_sending_is_told_its_shape(client, grower, body):
    page = post(client, body)
    assert page.status_code == 400
    assert "JSON" in page.json()["why"]
    assert not Refusal.objects.exists()


def test_at_most_500_at_once(client, grower):
    lot = stuck_lot(units=10)
    page = post(client, json.dumps({"records": [record(lot)] * 501}))
    assert page.status_code == 413
    assert "500" in page.json()["why"]
    assert not Loss.objects.exists()


def test_nothing_sent_is_nothing_answered(client, grower):
    assert answers(client) == []


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_only_post(client, grower, method):
    assert getattr(client, method)("/sync/").status_code == 405


def test_signed_out_nothing_is_stored(client):
    sent = record(stuck_lot(units=10))
    page = post(client, json.dumps({"records": [sent]}))
    assert page.status_code == 302
    assert page.url.startswith("/sign-in/")
    assert not Loss.objects.exists()


def test_a_sending_from_another_site_is_not_taken(grower):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(grower)
    sent = record(stuck_lot(units=10), "check")
    assert post(strict, json.dumps({"records": [sent]})).status_code == 403
    assert not StrikeCheck.objects.exists()
