"""Due to finish: pots week by week with a band, once there is a fit."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import outlook, supply
from lots.models import ToCome
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
    weeks = [week for week in supply.weeks(26) if week.pots or week.high]
    later = supply.ahead(26).later
    shown = [*(str(week.pots) for week in weeks), *([str(later)] if later else [])]
    assert select(answer, "#weeks td b") == shown


def test_a_week_leads_to_its_lots_and_their_pots_add_up(client, lots):
    week = max(supply.weeks(26), key=lambda week: week.pots)
    year, number, _ = week.monday.isocalendar()
    answer = client.get(reverse("due"), {"week": f"{year}-W{number:02}"})
    assert sum(int(pots) for pots in select(answer, "#lots td b")) == week.pots
    assert len(select(answer, "#lots tbody tr")) == week.lots
    assert client.get(reverse("due"), {"week": "nonsense"}).status_code == 200


def test_what_should_have_come_is_expected_this_week(client, lots):
    """Nothing has been renewed for two weeks."""
    later = timezone.localdate() + timedelta(days=14)
    first, *_ = weeks = supply.weeks(26, later)
    assert first.monday == supply.monday_of(later)
    past = ToCome.objects.filter(day__lt=first.monday + timedelta(days=7))
    assert first.pots == sum(row.pots for row in past)
    assert sum(week.pots for week in weeks) + supply.ahead(26, later).later == sum(
        row.pots for row in ToCome.objects.all()
    )


def test_without_a_fit_the_lots_stand_in_their_weeks_without_a_band(client, grower):
    factories.stuck_lot(days=100)
    answer = client.get(reverse("due"))
    [says] = select(answer, "figcaption")
    assert "(" not in says
    assert select(answer, "#weeks td b")
    assert not any(select(answer, "#weeks td:nth-child(5)"))


def test_a_lot_that_has_begun_finishes_about_now(grower):
    """Pots of a lot that finish before the others say that these are near."""
    lot, records = growing.grown(days=151, by=grower, takes=36)
    records[-1].pots = 10
    growing.load((lot, records))
    outlook.refit()
    assert sum(week.pots for week in supply.weeks(8)) > 20
