"""Lots that stood on the benches before the book: entered in a line, with what there is of them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lots import ledger, outlook
from lots.ledger import audit
from lots.models import Lot
from lots.sticking import already_standing
from tests import factories
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


@pytest.fixture
def line(boss):
    return {
        "variety": factories.variety().code,
        "method": factories.method().pk,
        "units": 48,
        "pieces_per_unit": 1,
        "on": (timezone.localdate() - timedelta(days=56)).isoformat(),
        "growing": 40,
        "pot_size": factories.potsize().pk,
        "stuck_by": boss.pk,
        "code": ledger.new_code(),
    }


def test_forty_eight_stuck_then_and_now_forty_in_pots(client, boss, line):
    answer = client.post(reverse("lot-enter"), line)
    lot = Lot.objects.get()
    assert (lot.stuck_units, lot.cells, lot.cells_lost, lot.pots_growing) == (48, 0, 8, 40)
    assert str(lot) in " ".join(select(answer, ".note"))
    assert lot.forecasts.exists()
    assert (lot.code, lot.day_number()) == (line["code"], 56)
    # The next line begins with what stays the same.
    method = elements(answer, "select[name=method] option[selected]")[0].get("value")
    assert method == str(line["method"])
    assert elements(answer, "input[name=units]")[0].get("value") is None


def test_the_same_line_sent_twice_is_one_lot(client, boss, line):
    client.post(reverse("lot-enter"), line)
    answer = client.post(reverse("lot-enter"), line)
    assert answer.status_code == 422
    assert "in the book already" in " ".join(select(answer, ".errorlist"))
    assert Lot.objects.count() == 1


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"growing": 60}, "are more"),
        ({"growing": ""}, "Nothing is left of it"),
        ({"pot_size": ""}, "Which size"),
        ({"on": "2999-01-01"}, "not come yet"),
        ({"variety": "no such"}, "No variety"),
        ({"units": 10**9}, "100000"),
    ],
)
def test_what_cannot_be_is_told_and_stays_typed(client, boss, line, more, says):
    answer = client.post(reverse("lot-enter"), line | more)
    assert answer.status_code == 422
    assert says.replace(",", "") in " ".join(select(answer, ".errorlist")).replace(",", "")
    assert Lot.objects.count() == 0
    name, value = next(iter(more.items()))
    if name not in ("pot_size", "growing"):
        assert elements(answer, f"input[name={name}]")[0].get("value") == str(value)


def test_finished_and_gone_pots_are_known_and_teach_no_day(client, boss, line):
    """It struck and finished some day between then and now, and the forecasts know no more."""
    more = {"growing": 10, "finished": 12, "gone": 18, "cells": 3}
    client.post(reverse("lot-enter"), line | more)
    lot = Lot.objects.get()
    counts = (lot.cells, lot.pots_growing, lot.pots_finished, lot.pots_left, lot.cells_lost)
    assert counts == (3, 10, 12, 18, 5)
    assert lot.struck_after is None or lot.struck_after < timezone.localdate()
    outlook.refit()
    assert lot.forecasts.exists()


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.integers(1, 300),
    st.integers(1, 3),
    st.lists(st.integers(0, 80), min_size=4, max_size=4),
    st.sampled_from([(1, 1), (2, 1), (3, 2)]),
)
def test_any_lot_adds_up_or_is_refused_whole(db, units, pieces, counts, pot):
    size = factories.potsize(name=f"{pot[0]} a pot", pieces_per_pot=pot[0], least_struck=pot[1])
    by = factories.person()
    lot = Lot(
        variety=factories.variety(),
        method=factories.method(),
        pieces_per_unit=pieces,
        stuck_units=units,
        stuck_on=timezone.localdate() - timedelta(days=70),
        stuck_by=by,
    )
    before = Lot.objects.count()
    now = already_standing.Now(*counts, size=size)
    try:
        lot = already_standing.enter(lot, now, by=by)
    except ledger.Refused:
        assert Lot.objects.count() == before
        return
    lot.refresh_from_db()
    assert [lot.cells, lot.pots_growing, lot.pots_finished, lot.pots_left] == counts
    assert lot.stuck_units == lot.cells + lot.cells_lost + lot.units_potted
    assert audit.audit().faults == []
