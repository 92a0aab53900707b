"""Who saves while the book can't be written is told that it is not saved."""

import errno
import json
import logging
from contextlib import contextmanager
from uuid import uuid4

import pytest
from django.db import OperationalError, connection

from lots.models import RECORDS, Lot
from lots.worklists import walk
from nursery.signins import SessionStore
from tests.factories import PASSWORD, stuck_lot
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def as_in_production(client):
    client.raise_request_exception = False
    logging.disable(logging.ERROR)
    yield
    logging.disable(logging.NOTSET)


@contextmanager
def unwritable():
    """The database refuses every write."""
    on, off = {
        "sqlite": ("PRAGMA query_only = 1", "PRAGMA query_only = 0"),
        # Under a savepoint: a transaction can't go back to writing otherwise.
        "postgresql": (
            "SAVEPOINT before_read_only; SET TRANSACTION READ ONLY",
            "ROLLBACK TO SAVEPOINT before_read_only",
        ),
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(on)
        try:
            yield
        finally:
            cursor.execute(off)


def check(lot, uuid):
    return f"/lots/{lot.code}/check/", {"uuid": uuid, "looked_at": 10, "rooted": 4}


def test_a_form_is_told_and_sent_again_it_is_saved(client, grower):
    lot, uuid = stuck_lot(units=10), uuid4()
    with unwritable():
        page = client.post(*check(lot, uuid))
    assert page.status_code == 503
    assert select(page, "h1") == ["Not saved"]
    [sentence] = select(page, ".note")
    assert "NOT saved" in sentence
    assert "can't be written" in sentence
    assert not any(model.objects.exists() for model in RECORDS.values())
    assert Lot.objects.get(pk=lot.pk).seen_on is None
    assert client.post(*check(lot, uuid)).status_code == 302


def test_a_phone_s_own_store_is_told_in_json_and_keeps_its_records(client, grower):
    lot = stuck_lot(units=10)
    sent = {"uuid": str(uuid4()), "kind": "loss", "lot": lot.code, "stage": "cell", "units": 1}
    sent |= {"reason": "rot", "observed_at": lot.stuck_on.isoformat() + "T23:00:00+00:00"}
    with unwritable():
        page = client.post("/sync/", json.dumps({"records": [sent]}), "application/json")
    assert page.status_code == 503
    assert "NOT all of this was saved" in page.json()["why"]
    page = client.post("/sync/", json.dumps({"records": [sent]}), "application/json")
    assert page.json()["records"][0]["status"] == "saved"


def test_signing_in_is_told_too(client, grower):
    client.logout()
    with unwritable():
        page = client.post("/sign-in/", {"username": "grower", "password": PASSWORD})
    assert page.status_code == 503
    assert select(page, "h1") == ["Not saved"]


def test_a_page_that_can_t_be_read_says_so(client, grower, monkeypatch):
    def away(*_args, **_kwargs):
        raise OperationalError("connection refused")

    monkeypatch.setattr("lots.views.ledger.lot.lot_of", away)
    page = client.get("/lots/7K3QFY/")
    assert page.status_code == 503
    assert select(page, "h1") == ["The book can't be opened"]


@pytest.mark.parametrize(
    ("fault", "why"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "full"),
        (OSError(errno.EROFS, "Read-only file system"), "written"),
        (OperationalError("connection refused"), "reach"),
    ],
    ids=["full", "read-only", "away"],
)
def test_what_it_was_is_said(client, grower, monkeypatch, fault, why):
    def failing(*_args, **_kwargs):
        raise fault

    monkeypatch.setattr("lots.ledger.record_together", failing)
    page = client.post(*check(stuck_lot(units=10), uuid4()))
    assert page.status_code == 503
    assert why in select(page, ".note")[0]
    assert elements(page, "meta[name=viewport]")


def test_another_fault_is_not_called_unsaved(client, grower, monkeypatch):
    def failing(*_args, **_kwargs):
        raise OSError(errno.ENOENT, "No such file or directory")

    monkeypatch.setattr("lots.ledger.record_together", failing)
    page = client.post(*check(stuck_lot(units=10), uuid4()))
    assert (page.status_code, select(page, "h1")) == (500, ["Something broke"])


def failing(*_args, **_kwargs):
    raise OperationalError("database or disk is full")


def test_what_was_saved_before_the_fault_is_not_called_unsaved(
    client, grower, monkeypatch, settings
):
    """The record stands, and the session can't be written after it."""
    lot = stuck_lot(units=10)
    settings.SESSION_SAVE_EVERY_REQUEST = True
    monkeypatch.setattr(SessionStore, "save", failing)
    page = client.post(*check(lot, uuid4()))
    assert lot.strikecheck_set.count() == 1
    assert page.status_code == 500
    assert "look whether it stands in the book" in select(page, ".note")[0]


def test_what_is_saved_is_saved_though_nobody_can_say_what_is_next(client, grower, monkeypatch):
    lot = stuck_lot(units=10)
    with monkeypatch.context() as patch:
        patch.setattr(walk, "next_stop", failing)
        answer = client.post(*check(lot, uuid4()))
    assert lot.strikecheck_set.count() == 1
    assert "Undo" in " ".join(select(client.get(answer["Location"]), ".messages"))
