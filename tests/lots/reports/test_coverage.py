"""How good our forecasts were: what is judged, and how."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import outlook
from lots.models import Forecast, Lot
from lots.outlook import facts, verification
from lots.outlook.hindcasts import half_year
from lots.reports import coverage
from tests import factories
from tests.lots import growing
from tests.pages import query_count, select

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return factories.person()


def frozen(lot, *, struck, basis="own"):
    """Freeze a forecast of the lot: days to struck with a chance of 10, 50 and 90 in 100."""
    days = [lot.stuck_on + timedelta(days=each) for each in struck]
    later = [day + timedelta(days=120) for day in days]
    Forecast.objects.create(
        lot=lot,
        moment="sticking",
        basis=basis,
        **dict(zip(("struck_p10", "struck_p50", "struck_p90"), days, strict=True)),
        **dict(zip(("finished_p10", "finished_p50", "finished_p90"), later, strict=True)),
        take_mean=0.7,
        take_p10=0.5,
        take_p90=0.9,
        to_come_p10=24,
        to_come=34,
        to_come_p90=43,
    )


def judged(stage="struck"):
    known = facts.standing(Lot.objects.filter(stuck_on__isnull=False))
    found = verification.verify(verification.told(known, timezone.localdate()))
    return [(tally.hits, tally.count) for tally in found if tally.stage == stage]


def test_an_outcome_well_inside_or_outside_its_band_counts_whole(by):
    for band, strikes in (((20, 36, 60), 36), ((50, 55, 60), 30), ((20, 21, 22), 45)):
        [lot] = growing.load(growing.grown(by=by, strikes=strikes))
        frozen(lot, struck=band)
    [(hits, count)] = judged()
    assert count == 3
    assert hits == pytest.approx(1, abs=0.02)


def test_an_outcome_across_the_edge_counts_in_part(by):
    [lot] = growing.load(growing.grown(by=by, strikes=38))  # between day 31 and day 38
    frozen(lot, struck=(34, 44, 57))
    [(hits, count)] = judged()
    assert count == 1
    assert 0.3 < hits < 0.95


def test_a_lot_is_judged_once_its_band_is_over(by):
    [early] = growing.load(growing.grown(days=50, by=by, strikes=38))
    frozen(early, struck=(30, 45, 60))
    assert judged() == []


def test_what_died_or_was_not_looked_at_since_has_no_outcome(by):
    dead, unseen = growing.load(growing.died(by=by), (growing.stuck(200), []))
    for lot in (dead, unseen):
        frozen(lot, struck=(20, 30, 45))
    assert judged() == []


def test_a_lot_still_not_there_when_its_band_is_over_is_outside(by):
    lot, records = growing.grown(days=60, by=by, strikes=57)
    [slow] = growing.load((lot, records[:1]))  # on day 50 it was not struck
    frozen(slow, struck=(20, 30, 45))
    assert judged() == [(0.0, 1)]


def test_the_share_that_took_is_judged_too(by):
    for takes in (36, 46):  # 0.75 and 0.96 of 48, against 0.5 to 0.9
        [lot] = growing.load(growing.grown(days=300, by=by, takes=takes))
        frozen(lot, struck=(30, 38, 48))
    assert judged("take") == [(1.0, 2)]


def test_the_page_says_it_in_words_numbers_and_a_chart(client, grower):
    for _ in range(3):
        [lot] = growing.load(growing.grown(days=300, by=grower, strikes=36))
        frozen(lot, struck=(20, 36, 60))
    [by_handbook] = growing.load(growing.grown(days=300, by=grower))
    frozen(by_handbook, struck=(20, 36, 60), basis="handbook")
    outlook.refit()
    answer = client.get(reverse("forecasts"))
    [says] = select(answer, "figcaption")
    # Wilson's interval of 3 in 3: 0.44 to 1.
    assert "Of 3 lots 100 in 100 struck inside their band (44 to 100)." in says
    assert select(answer, "caption")[0] == "Forecasts from our own lots"
    assert "By half-year" in select(answer, "caption")[1]
    first = half_year(lot.stuck_on)
    assert f"{first:%b}" in select(answer, "table")[1]
    assert f"{lot.stuck_on.year}" in select(answer, "table")[1]
    assert "rex begonia" in select(answer, "table")[2]
    assert "handbook alone" in select(answer, "caption")[3]
    assert len(select(answer, "figure svg")) == 2


def test_forecasts_worked_out_later_are_named(client, grower):
    growing.load(*(growing.grown(days=300 - n, by=grower) for n in range(3)))
    outlook.refit()
    found = coverage.judgement()
    assert found.count == found.hindsight > 0
    said = " ".join(select(client.get(reverse("forecasts")), "p.soft"))
    assert "came into the book with their history" in said


def test_the_half_years():
    assert half_year(date(2026, 6, 30)) == date(2026, 1, 1)
    assert half_year(date(2026, 7, 1)) == date(2026, 7, 1)


def test_each_half_year_is_judged_by_itself_and_the_newest_comes_first(by):
    """Of three lots of one half-year none was inside its band, of three of an earlier one all."""
    for days, band in ((300, (20, 24, 28)), (700, (20, 36, 60))):
        for _ in range(3):
            [lot] = growing.load(growing.grown(days=days, by=by, strikes=36))
            frozen(lot, struck=band)
    outlook.refit()
    found = [line for line in coverage.judgement().halves if line.stage == "struck"]
    assert [(round(line.share.hits), line.share.count) for line in found] == [(0, 3), (3, 3)]
    whole = [line for line in coverage.judgement().stages if line.stage == "struck"]
    assert [line.share.count for line in whole] == [6]


def test_an_empty_book_says_when(client, grower):
    assert "come due yet" in select(client.get(reverse("forecasts")), ".empty")[0]


def test_the_standing_matrix(client, grower):
    assert client.post(reverse("forecasts")).status_code == 405
    client.logout()
    assert client.get(reverse("forecasts")).url.startswith(reverse("sign-in"))


def test_more_lots_take_no_more_queries(client, grower):
    growing.load(*(growing.grown(days=300 - n, by=grower) for n in range(3)))
    outlook.refit()
    before = query_count(client, reverse("forecasts"))
    growing.load(*(growing.grown(days=500 - n, by=grower) for n in range(5)))
    outlook.refit()
    assert query_count(client, reverse("forecasts")) == before
