"""Figures, days and codes in words: one way of each, on every page."""

from datetime import date
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format, time_format

from lots import codes, ledger
from lots.models import Finish, PotUp
from lots.reports.timeline import LENGTH
from lots.templatetags.book import week
from tests import factories
from tests.pages import elements, select


def record(kind, by, **fields):
    return kind(uuid=uuid4(), observed_at=timezone.now(), by=by, **fields)


def test_one_is_told_as_one(client, grower):
    lot = factories.stuck_lot(units=1, by=grower)
    size = factories.potsize()
    ledger.record(lot, [record(PotUp, grower, units=1, pots=1, pot_size=size)])
    ledger.record(lot, [record(Finish, grower, pots=1)])
    said = " ".join(select(client.get(reverse("lot", args=[lot.code])), ".history li"))
    assert "Potted up: 1 unit into 1 pot of 9 cm" in said
    assert "Finished: 1 pot" in said
    assert "1 pots" not in said


def test_a_session_of_one_unit(client, grower):
    lot = factories.planned_lot(planned_units=1)
    page = client.get(reverse("session", args=[lot.session_id]))
    assert "1 lot, 1 unit" in select(page, "main > p")[1]


def test_more_held_than_were_looked_at_is_told_in_a_sentence(client, grower):
    lot = factories.stuck_lot(units=48)
    typed = {"uuid": uuid4(), "looked_at": 40, "rooted": 99, "showing": 50}
    page = client.post(reverse("lot-check", args=[lot.code]), typed)
    assert select(page, "#id_rooted_error li") == ["99 held, and only 40 were looked at."]
    assert select(page, "#id_showing_error li") == ["50 show growth, and only 40 were looked at."]


@pytest.mark.parametrize(
    ("day", "says"),
    [
        (date(2025, 11, 10), "week 46"),
        (date(2026, 3, 2), "week 10"),
        (date(2025, 12, 29), "week 1 of 2026"),
        (date(2027, 1, 1), "week 53 of 2026"),
    ],
)
def test_a_week_beside_its_day(day, says):
    assert week(day) == says


def test_times_are_of_24_hours():
    moment = timezone.make_aware(timezone.datetime(2026, 3, 2, 17, 2))
    assert time_format(moment) == "17:02"
    assert date_format(moment, "DATETIME_FORMAT") == "2 Mar 2026, 17:02"
    assert date_format(moment, "SHORT_DATETIME_FORMAT") == "2 Mar 2026, 17:02"


def test_a_plant_s_code_is_shown_as_a_lot_s_is(client, boss):
    """By whatever way it came: drawn by the book it is read out in two groups."""
    code = ledger.new_code()
    plant = factories.stock_plant(code=code)
    lot = factories.planned_lot(plants=(plant,))
    for url in (
        reverse("session", args=[lot.session_id]),
        reverse("session-worksheet", args=[lot.session_id]),
        reverse("lot", args=[lot.code]),
        reverse("stock-plant", args=[plant.pk]),
        reverse("stock-plant-print", args=[plant.pk]),
    ):
        text = " ".join(select(client.get(url), "main"))
        assert codes.show(code) in text
        assert code not in text


def test_a_code_with_signs_of_its_own_stays_as_it_is():
    assert codes.show("RX04-2") == "RX04-2"


def test_a_months_name_is_inside_the_picture(client, grower):
    lot = factories.stuck_lot(days=40)
    page = client.get(reverse("lot", args=[lot.code]))
    [picture] = elements(page, "svg.timeline")
    left, _top, wide, _high = map(float, picture.get("viewbox").split())  # as HTML writes names
    months = elements(page, "svg.timeline text[text-anchor=middle]")
    assert months
    assert all(month.text.istitle() for month in months)
    # Three letters of 26 px are about 46 px wide, and may stand at the very end of the line.
    assert left + wide >= LENGTH + 24
    assert all(float(month.get("x")) <= LENGTH for month in months)


def test_a_session_named_by_its_day_says_it_once(client, grower):
    plain = factories.session(code="2026-11-26", day=date(2026, 11, 26))
    named = factories.session(code="ferns", day=date(2026, 11, 27))
    [head] = select(client.get(f"/sessions/{plain.pk}/"), "h1")
    assert head.endswith("week 48")
    [head] = select(client.get(f"/sessions/{named.pk}/"), "h1")
    assert head.endswith("week 48 · ferns")
