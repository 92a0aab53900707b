"""Unsaved records with something sensible in every field, and how a lot stands in the book."""

from datetime import timedelta

import pytest
from django.utils import timezone

from lots import ledger
from lots.ledger import Refused
from lots.models import RECORDS, Finish, Leave, Loss, Lot, Move, PotUp, StrikeCheck
from tests.factories import potsize


def days_ago(days: float):
    return timezone.now() - timedelta(days=days)


def check(by, looked_at=10, rooted=5, at=None, **more):
    at = at or timezone.now()
    return StrikeCheck(looked_at=looked_at, rooted=rooted, observed_at=at, by=by, **more)


def loss(by, units=1, at=None, **more):
    given = {"stage": "cell", "reason": "rot", "observed_at": at or timezone.now()} | more
    return Loss(units=units, by=by, **given)


def potup(by, units=10, at=None, pots=None, **more):
    given = {"observed_at": at or timezone.now(), "pot_size": potsize()} | more
    return PotUp(units=units, pots=pots or units, by=by, **given)


def move(by, to, at=None, **more):
    return Move(place=to, observed_at=at or timezone.now(), by=by, **more)


def finish(by, pots=1, at=None, **more):
    return Finish(pots=pots, observed_at=at or timezone.now(), by=by, **more)


def leave(by, pots=1, at=None, **more):
    return Leave(pots=pots, observed_at=at or timezone.now(), by=by, **more)


def counts(lot):
    lot = Lot.objects.get(pk=lot.pk)
    return {
        name: getattr(lot, name)
        for name in ("cells", "cells_lost", "units_potted", "pots_growing", "pots_finished")
    } | {"pots_lost": lot.pots_lost, "pots_left": lot.pots_left, "stage": lot.stage}


def number_of_records():
    return sum(model.objects.count() for model in RECORDS.values())


def refused(lot, *entries):
    """The sentence that the entries are refused with; nothing of the book may change."""
    before = (counts(lot), number_of_records())
    with pytest.raises(Refused) as refusal:
        ledger.record(lot, entries)
    assert (counts(lot), number_of_records()) == before
    return refusal.value
