"""Records that no book can take: each is refused with a sentence, and kept."""

import pytest

from lots import ledger
from lots.models import Loss, Refusal
from tests.factories import planned_lot, potsize, stuck_lot
from tests.lots.sending import answer, record, refused

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"kind": "repot"}, "check, loss, move, potup, finish, leave"),
        ({"kind": None}, "no kind of record"),
        ({"kind": ["loss"]}, "no kind of record"),
        ({"kind": {}}, "no kind of record"),
        ({"lot": "7K3QFZ"}, "no lot code"),
        ({"lot": "7K3QFY"}, "no lot 7K3QFY"),
        ({"lot": None}, "no lot code"),
        ({"lot": ["7K3QFY"]}, "no lot code"),
        ({"lot": {"code": 1}}, "no lot code"),
        ({"observed_at": None}, "observed_at"),
        ({"observed_at": "yesterday"}, "observed_at"),
        ({"observed_at": "2026-02-31T09:00:00+00:00"}, "observed_at"),
        ({"observed_at": "2026-03-02T09:00:00"}, "offset"),
        ({"observed_at": 1772442900}, "observed_at"),
        ({"observed_at": "0001-01-01T00:00:00+14:00"}, "observed_at"),
        ({"observed_at": "9999-12-31T23:59:59-12:00"}, "observed_at"),
        ({"observed_at": "0001-01-02T00:00:00+00:00"}, "can't be meant"),
        ({"observed_at": "9999-12-30T00:00:00+00:00"}, "can't be meant"),
        ({"observed_at": "1850-01-02T00:00:00+00:00"}, "before that"),
        ({"observed_at": "2850-01-02T00:00:00+00:00"}, "has not come yet"),
        ({"units": None}, "units"),
        ({"units": "many"}, "units"),
        ({"units": -3}, "units"),
        ({"units": 0}, "units"),
        ({"units": 1.5}, "units"),
        ({"units": True}, "units"),
        ({"units": [1]}, "units"),
        ({"units": {"n": 1}}, "units"),
        ({"units": 10**400}, "units"),
        ({"units": float("nan")}, "units"),
        ({"units": float("inf")}, "units"),
        ({"units": "1\x00"}, "units"),
        ({"reason": "hail"}, "reason"),
        ({"reason": ["rot"]}, "reason"),
        ({"stage": "flat"}, "stage"),
        ({"stage": None}, "stage"),
        ({"note": "x" * 301}, "note"),
        ({"kind": "move", "place": "nowhere"}, "nowhere"),
        ({"kind": "move", "place": None}, "place"),
        ({"kind": "move", "place": {"name": "1-01"}}, "place"),
        ({"kind": "potup", "pots": 1, "pot_size": "a bucket"}, "a bucket"),
        ({"kind": "potup", "pots": 2, "pot_size": "9 cm"}, "at least one unit"),
        ({"kind": "check", "looked_at": 3, "rooted": 4}, "looked at"),
        ({"kind": "leave", "pots": 1, "from": "cells", "way": "sold"}, "stage"),
        ({"kind": "leave", "pots": 1, "from": "growing", "way": "eaten"}, "way"),
        ({"kind": "lo\x00ss", "lot": "\x00", "note": "\ud800"}, "no kind of record"),
    ],
    ids=lambda value: str(value)[:50] if isinstance(value, dict) else "",
)
def test_a_bad_record_is_refused_with_a_sentence_and_kept(client, grower, change, says):
    potsize(name="9 cm")
    assert says in refused(client, record(stuck_lot(units=10)) | change)
    assert Refusal.objects.count() == 1


def test_what_no_database_stores_is_stored_as_a_mark(client, grower):
    """A NUL or half a character in a note is no reason to send the same batch for ever."""
    sent = record(stuck_lot(units=10), note="wet\x00 \ud83d leaf \U0001f33f")
    assert answer(client, sent)["status"] == "saved"
    assert Loss.objects.get().note.endswith("leaf \U0001f33f")


@pytest.mark.parametrize("sent", [None, 5, "loss", [], [[1]], True, {}], ids=str)
def test_what_is_no_record_at_all_is_refused_and_kept(client, grower, sent):
    refused(client, sent)
    refused(client, sent)
    assert Refusal.objects.get().sent == ("null" if sent is None else sent)


def test_a_lot_that_is_planned_or_never_stuck(client, grower):
    assert "not stuck yet" in refused(client, record(planned_lot()))
    assert "never stuck" in refused(client, record(ledger.not_stuck(planned_lot())))


def test_what_stands_for_the_lot_is_never_cut(client, grower):
    long = stuck_lot().code + " and much more than the column can show"
    sent = record(long)
    assert "no lot code" in refused(client, sent)
    kept = Refusal.objects.get()
    assert (kept.lot_text, kept.sent["lot"]) == ("", long)
