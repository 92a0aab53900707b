"""Days, weeks and forecasts at the hours when a clock is easily misread: midnight in the book's own
zone, the nights of daylight saving time, and the week that a year has 53 of."""

import re
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from lots import ledger, outlook
from lots.ledger.audit import audit
from lots.models import Loss, ToCome
from nursery import clock
from tests import factories
from tests.pages import select

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("Europe/Berlin")


@pytest.fixture
def at(monkeypatch):
    """Sets the clock on the wall of the book's zone."""
    clock.settle(ZONE)

    def set_to(*moment: int, fold: int = 0) -> datetime:
        told = datetime(*moment, tzinfo=ZONE, fold=fold)
        monkeypatch.setattr("django.utils.timezone.now", lambda: told.astimezone(UTC))
        timezone.activate(ZONE)
        return told

    return set_to


def lose(lot, by, when, units=1):
    loss = Loss(uuid=uuid4(), stage="cell", units=units, reason="rot", by=by, observed_at=when)
    return ledger.record(lot, [loss])


def test_what_is_logged_on_either_side_of_midnight_is_of_its_own_day(client, grower, at):
    at(2026, 12, 31, 22, 0)
    lot = factories.stuck_lot(days=40, by=grower)
    client.force_login(grower)
    before = at(2026, 12, 31, 23, 59, 58)
    lose(lot, grower, before)
    assert "31 December" in select(client.get("/"), "h1")[0]
    after = at(2027, 1, 1, 0, 0, 2)
    lose(lot, grower, after)
    assert "1 January" in select(client.get("/"), "h1")[0]
    assert after.astimezone(UTC).date() == date(2026, 12, 31)  # in Greenwich it is still last year
    page = select(client.get(f"/lots/{lot.code}/"), ".history li")
    assert [row.split(",")[0] for row in page] == ["1 Jan 2027", "31 Dec 2026"]
    lot.refresh_from_db()
    assert (lot.seen_on, lot.day_number()) == (date(2027, 1, 1), 41)
    assert not audit().faults


def test_a_look_of_the_day_of_sticking_just_after_midnight_is_not_before_it(grower, at):
    at(2027, 1, 1, 0, 0, 5)
    lot = factories.stuck_lot(days=0, by=grower)
    lose(lot, grower, at(2027, 1, 1, 0, 0, 9))
    with pytest.raises(ledger.Refused):
        lose(lot, grower, datetime(2026, 12, 31, 23, 59, 59, tzinfo=ZONE))
    assert not audit().faults


@pytest.mark.parametrize(
    ("night", "hours"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25)], ids=["short", "long"]
)
def test_the_nights_of_daylight_saving_time_are_days_like_others(night, hours, grower, at):
    at(night.year, night.month, night.day - 1, 12, 0)
    lot = factories.stuck_lot(days=30, by=grower)
    start = at(night.year, night.month, night.day, 0, 0)
    end = datetime(night.year, night.month, night.day + 1, tzinfo=ZONE)
    assert end.astimezone(UTC) - start.astimezone(UTC) == timedelta(hours=hours)
    for hour, fold in ((1, 0), (2, 0), (2, 1), (3, 0), (23, 0)):
        lose(lot, grower, at(night.year, night.month, night.day, hour, 30, fold=fold))
    lot.refresh_from_db()
    assert (lot.cells_lost, lot.seen_on, lot.day_number()) == (5, night, 31)
    assert not audit().faults


def test_a_year_with_53_weeks_goes_on_with_week_1(client, boss, at):
    at(2026, 12, 30, 9, 0)
    lot = factories.stuck_lot(days=150, by=boss)
    outlook.refit()
    ToCome.objects.filter(lot=lot).delete()
    for day in (date(2027, 1, 3), date(2027, 1, 4)):  # the last of one week, the first of the next
        ToCome.objects.create(lot=lot, variety=lot.variety, day=day, growing=0, cells=3)
    client.force_login(boss)
    heads = select(client.get("/availability/"), "thead th")
    assert heads[heads.index("W53") :][:3] == ["W53", "2027-W01", "2027-W02"]
    weeks = select(client.get("/due/"), "table td:first-child a")
    weeks = [week for week in weeks if re.fullmatch(r"(\d{4}-)?W\d\d", week)]  # a code may have a W
    assert weeks[:2] == ["W53", "2027-W01"]
    assert "Week 53, from 28 December 2026" in select(client.get("/due/"), "h2")
    assert "Week 1, from 4 January 2027" in select(client.get("/due/?week=2027-W01"), "h2")


def test_a_forecast_counts_days_and_not_hours(grower, at):
    found = []
    for moment in ((2026, 3, 27, 23, 30), (2026, 3, 29, 3, 30), (2026, 3, 30, 0, 30)):
        at(*moment)
        lot = factories.stuck_lot(days=10, by=grower)
        newest = lot.forecasts.get(moment="newest")
        found.append((newest.struck_p50 - lot.stuck_on).days)
    assert len(set(found)) == 1
