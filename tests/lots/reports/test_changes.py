"""Changes of the nursery that a manager noted: the step that the forecasts allow, how large it
turned out, and the page that says so."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import csvbook, outlook
from lots.models import Lot, NotedChange
from lots.outlook import changes, facts, stored_fit
from lots.outlook.prediction import predict
from tests import factories
from tests.lots import books, growing
from tests.pages import select

pytestmark = pytest.mark.django_db
VARIETIES = 6


@pytest.fixture
def by():
    return factories.person()


@pytest.fixture
def nursery(by):
    """Two years of lots at two houses; those of house B strike in 30 days since 300 days ago,
    where it took 40, and those of house A in 40 as ever."""
    places = {house: factories.place(name=f"{house}-1-01") for house in "AB"}
    group = factories.group()
    varieties = [factories.variety(group=group) for _ in range(VARIETIES)]
    method = factories.method()
    lots = []
    for n, days in enumerate(range(120, 720, 12)):
        house = "AB"[n % 2]
        lots.append(
            growing.grown(
                days,
                strikes=(30 if house == "B" and days <= 300 else 40) + n % 3,
                by=by,
                variety=varieties[n % VARIETIES],
                method=method,
                first_place=places[house],
            )
        )
    growing.load(*lots)


def test_a_change_of_one_house_turns_out_as_large_as_it_was(nursery):
    boiler = factories.noted_change(house="B")
    nothing = factories.noted_change(house="A", what="new door")
    growing.learn()
    found = changes.turned_out(stored_fit.newest())
    step = found[boiler.pk]["struck"].times
    assert step.low < 30.0 / 40 * 1.06
    assert step.high < 0.95
    assert found[nothing.pk]["struck"].times.high > 1 - 0.08
    assert stored_fit.newest().changes == tuple(changes.noted())


def test_forecasts_of_new_lots_follow_it(nursery):
    """A lot of house B is expected sooner than one of house A, and a lot of B stuck before."""
    boiler = factories.noted_change(house="B")
    growing.learn()
    some = facts.standing(Lot.objects.all())
    at_b, at_a = (
        next(lot for lot in some if lot.first_place == place) for place in ("B-1-01", "A-1-01")
    )
    alike = {"variety": at_a.variety, "variety_code": at_a.variety_code}
    unseen = [facts.unseen(lot)._replace(**alike) for lot in (at_a, at_b, at_b)]
    day = timezone.localdate()
    days = (day, day, boiler.day - timedelta(days=1))
    lots = [lot._replace(stuck_on=stuck_on) for lot, stuck_on in zip(unseen, days, strict=True)]
    elsewhere, here, before = predict(stored_fit.newest(), lots).struck.days[:, 1]
    assert here < 0.9 * elsewhere
    assert here < 0.9 * before


def test_an_earlier_day_knows_of_no_later_change(nursery):
    boiler = factories.noted_change(house="B")
    assert changes.noted(boiler.day - timedelta(days=1)) == []
    assert [change.key for change in changes.noted(boiler.day)] == [boiler.pk]


def test_what_a_change_touches():
    change = changes.Change(1, date(2026, 5, 1), "b", None)
    assert changes.load(changes.dump([change])) == (change,)


def test_a_manager_notes_a_change_and_takes_it_out(client, boss):
    factories.place(name="B-1-01")
    assert any("No change is noted" in text for text in select(client.get(reverse("changes")), "p"))
    typed = {"what": "new boiler", "day": "2026-10-03", "house": "B", "group": ""}
    answer = client.post(reverse("change-new"), typed, follow=True)
    [row] = select(answer, "tbody tr")
    assert "new boiler" in row
    assert "3 October 2026" in row
    assert "house B" in row
    assert row.count("not told yet") == 3
    change = NotedChange.objects.get()
    asked = client.get(reverse("change-remove", args=[change.pk]))
    assert "Remove new boiler?" in select(asked, "h1")
    client.post(reverse("change-remove", args=[change.pk]))
    assert not NotedChange.objects.exists()
    assert change.history.model.objects.count() == 2


def test_a_grower_reads_them_only(client, grower):
    change = factories.noted_change()
    page = client.get(reverse("changes"))
    assert "new boiler" in select(page, "tbody tr")[0]
    assert not select(page, "a.button")
    for name, args in (("change-new", []), ("change-change", [change.pk])):
        assert client.get(reverse(name, args=args)).status_code == 403
    assert client.post(reverse("change-remove", args=[change.pk])).status_code == 403


def test_a_house_that_no_place_names_is_refused_and_what_was_typed_stays(client, boss):
    typed = {"what": "new boiler", "day": "2026-10-03", "house": "Z", "group": ""}
    answer = client.post(reverse("change-new"), typed)
    assert answer.status_code == 422
    assert b"new boiler" in answer.content


def test_the_page_says_how_large_it_was(client, grower, nursery):
    factories.noted_change(house="B")
    growing.learn()
    [row] = select(client.get(reverse("changes")), "tbody tr")
    assert " in 100 quicker (" in row


def test_noting_one_asks_for_a_refit(client, boss, nursery, django_capture_on_commit_callbacks):
    outlook.refit()
    typed = {"what": "new boiler", "day": "2026-10-03", "house": "", "group": ""}
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("change-new"), typed)
    assert stored_fit.is_behind()


def test_to_be_asked_whether_one_is_to_go_asks_for_no_refit(
    client, boss, django_capture_on_commit_callbacks
):
    factories.stuck_lot(by=boss)
    change = factories.noted_change()
    outlook.refit()
    address = reverse("change-remove", args=[change.pk])
    with django_capture_on_commit_callbacks() as asked:
        client.get(address)
    assert asked == []
    with django_capture_on_commit_callbacks() as taken_out:
        client.post(address)
    assert taken_out


def test_they_go_out_as_a_table_and_come_in_again(tmp_path):
    group = factories.group()
    factories.noted_change(house="B", group=group)
    csvbook.export(tmp_path)
    lines = (tmp_path / "changes.csv").read_text().splitlines()
    assert lines[0] == "day,what,house,group"
    NotedChange.objects.all().delete()
    report = books.bring_in(tmp_path)
    assert report.added == {"changes": 1}
    assert books.bring_in(tmp_path).added == {}
    assert NotedChange.objects.get().group == group
