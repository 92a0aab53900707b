"""The next stop, which each save asks for, is the one that the whole walk says."""

import random

import pytest

from lots.models import Lot
from lots.worklists import walk
from tests import factories

pytestmark = pytest.mark.django_db


def test_the_next_stop_is_the_one_after_in_the_whole_walk():
    chance = random.Random(5)
    places = [factories.place(name=f"{n}", walk_order=chance.choice([1, 2, 3])) for n in range(6)]
    by = factories.person()
    for _n in range(12):
        lot = factories.stuck_lot(units=10, by=by, place=chance.choice([*places, None]))
        now = {"look_on": chance.choice([lot.stuck_on, None])}
        if chance.random() < 0.5:
            now |= {"cells": 5, "units_potted": 5, "pots_made": 5, "pots_growing": 5}
            now["pots_place"] = chance.choice([one for one in places if one != lot.place])
        Lot.objects.filter(pk=lot.pk).update(**now)
    stops = walk.stops()
    assert 3 < len(stops) < 20
    for lot in Lot.objects.select_related("place", "pots_place"):
        for part in lot.parts:
            here = walk.Stop(lot.pk, lot.code, part)
            others = [stop for stop in stops if stop != here]
            later = [stop for stop in others if stop.key > here.key]
            assert walk.next_stop(lot, part) == (later or others)[0]


def test_with_nothing_else_due_there_is_no_next():
    lot = factories.stuck_lot(units=10)
    Lot.objects.update(look_on=None)
    assert walk.next_stop(lot, lot.parts[0]) is None
