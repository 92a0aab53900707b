"""Due to finish: pots week by week with a band, once there is a fit."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import availability, outlook, worklists
from tests import factories
from tests.lots import growing
from tests.pages import select


@pytest.fixture
def lots(grower):
    book = [growing.grown(days=days, by=grower) for days in (300, 280, 120, 100, 40)]
    found = growing.load(*book)
    outlook.refit()
    return found


def test_the_weeks_have_a_band_and_a_chart_with_words(client, lots):
    answer = client.get(reverse("due"))
    [says] = select(answer, "figcaption")
    assert says.startswith("Most pots are expected in ")
    assert len(select(answer, "figure svg")) == 2
    rows = select(answer, "table")[-1:]
    assert rows
    weeks = availability.expected(26).weeks
    assert len(weeks) == 26
    shown = select(answer, "table tbody td b")
    assert [str(week.pots) for week in weeks] == shown[-26:]


def test_the_weeks_add_up_to_the_pots_that_are_to_come(client, lots):
    weeks = availability.expected(26).weeks
    forecasts = worklists.waited_for()
    assert sum(week.pots for week in weeks) == pytest.approx(
        sum(forecast.pots_p50 for forecast in forecasts), rel=0.15
    )


def test_a_calendar_of_an_earlier_week_begins_with_this_one(client, lots):
    later = timezone.localdate() + timedelta(days=14)
    weeks = availability.expected(26, later).weeks
    assert weeks[0].monday == worklists.monday_of(later)
    assert len(weeks) == 24


def test_without_a_fit_the_lots_stand_in_their_likeliest_week(client, grower):
    factories.stuck_lot(days=100)
    answer = client.get(reverse("due"))
    assert not select(answer, "figure")
    assert select(answer, "td .code, tbody a")


def test_a_lot_that_has_begun_finishes_about_now(grower):
    """Pots of a lot that finish before the others say that these are near."""
    lot, records = growing.grown(days=151, by=grower, takes=36)
    records[-1].pots = 10
    growing.load((lot, records))
    outlook.refit()
    weeks = availability.expected(26).weeks
    assert sum(week.pots for week in weeks[:8]) > 20
