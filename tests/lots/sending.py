"""Sending records to `/sync/` as a phone does, and its answers."""

import json
from datetime import timedelta
from uuid import uuid4

from django.utils import timezone

from lots.models import RECORDS, Lot


def record(lot, kind="loss", days=1, **fields):
    """A record as a phone sends it."""
    own = {
        "check": {"looked_at": 10, "rooted": 6},
        "loss": {"stage": "cell", "units": 1, "reason": "rot"},
        "move": {"place": "1-01"},
        "potup": {"units": 10, "pots": 5, "pot_size": "9 cm"},
        "finish": {"pots": 3},
        "leave": {"pots": 2, "from": "finished", "way": "sold", "to": "market"},
    }.get(kind, {})
    seen = timezone.now() - timedelta(days=days)
    base = {"uuid": str(uuid4()), "kind": kind, "observed_at": seen.isoformat()}
    return base | {"lot": lot.code if isinstance(lot, Lot) else lot} | own | fields


def post(client, body):
    return client.post("/sync/", body, content_type="application/json")


def answers(client, *records):
    page = post(client, json.dumps({"records": records}))
    assert page.status_code == 200
    return page.json()["records"]


def answer(client, sent):
    [one] = answers(client, sent)
    assert set(one) == {"uuid", "status", "why"}
    assert (one["why"] == "") == (one["status"] != "refused")
    return one


def refused(client, sent):
    """The sentence that the record is refused with; nothing else is stored."""
    before = [model.objects.count() for model in RECORDS.values()]
    one = answer(client, sent)
    assert one["status"] == "refused"
    assert [model.objects.count() for model in RECORDS.values()] == before
    return one["why"]
