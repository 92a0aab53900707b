"""Days at the ends of the calendar, as a slip of the finger makes them: told, and never a fault."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.urls import reverse

from lots.models import Lot, Move, StickingSession, StockPlant, Target
from tests import factories
from tests.pages import select

DAYS = pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01"])


def told(answer, name: str) -> None:
    assert answer.status_code == 422
    assert "can't be meant" in select(answer, f"#id_{name}_error li")[0]


@DAYS
def test_of_a_session(client, boss, day):
    told(client.post(reverse("session-new"), {"day": day}), "day")
    assert not StickingSession.objects.exists()
    session = factories.planned_lot().session
    told(client.post(reverse("session-change", args=[session.pk]), {"day": day}), "day")
    told(client.post(reverse("session-repeat", args=[session.pk]), {"day": day}), "day")
    assert StickingSession.objects.get().day == session.day


@DAYS
def test_of_sticking(client, grower, day):
    lot = factories.planned_lot()
    typed = {"units": 48, "stuck_by": grower.pk, "on": day}
    told(client.post(reverse("lot-stick", args=[lot.code]), typed), "on")
    assert not Lot.objects.get().is_stuck


@DAYS
def test_of_a_record(client, grower, day):
    lot = factories.stuck_lot()
    typed = {"uuid": uuid4(), "observed_at": f"{day}T23:59", "place": factories.place().pk}
    told(client.post(reverse("lot-move", args=[lot.code]), typed | {"what": ""}), "observed_at")
    assert not Move.objects.exists()


@DAYS
def test_of_a_stock_plant(client, boss, day):
    typed = {"variety": factories.variety().pk, "origin": "bought", "health": "sound"}
    told(client.post(reverse("stock-new"), typed | {"since": day}), "since")
    assert not StockPlant.objects.exists()


@DAYS
def test_of_a_target(db, day):
    target = Target(variety=factories.variety(), pot_size=factories.potsize(), pots=9)
    target.wanted_by = Target._meta.get_field("wanted_by").to_python(day)
    with pytest.raises(ValidationError, match="can't be meant"):
        target.full_clean()


@DAYS
def test_of_a_forecast_s_day(db, day):
    with pytest.raises(CommandError, match="not a day"):
        call_command("forecast", "--as-of", day)


@pytest.mark.parametrize("week", ["9999-W52", "0001-W01", "2999-W52"])
def test_of_the_week_that_is_due(client, grower, week):
    assert client.get(reverse("due"), {"week": week}).status_code == 200
