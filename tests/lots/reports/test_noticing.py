"""Outcomes of late that lie to one side of what was expected: Today asks whether something changed,
and somebody answers."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import outlook
from lots.models import Fit
from lots.outlook import noticing
from tests import factories
from tests.lots import growing
from tests.pages import select

pytestmark = pytest.mark.django_db
CHANGED = 200  # days ago


@pytest.fixture
def by():
    return factories.person()


def nursery(by, since: int, **then) -> None:
    """A year and a half of lots that strike in about 40 days, and of which 36 of 48 take; other
    than that since so many days ago."""
    varieties = [factories.variety(group=factories.group()) for _ in range(3)]
    method = factories.method()
    lots = []
    for n, days in enumerate(range(60, 560, 9)):
        usual = {"strikes": 40, "finishes": 110, "takes": 36} | (then if days <= since else {})
        usual["strikes"] += (n * 5) % 7 - 3
        usual["takes"] += (n * 7) % 11 - 5
        lots.append(growing.grown(days, by=by, variety=varieties[n % 3], method=method, **usual))
    growing.load(*lots)
    outlook.refit()


@pytest.fixture
def hurried(by):
    nursery(by, CHANGED, strikes=30)


def asks(client) -> list[str]:
    found = select(client.get(reverse("today")), "section.note p")
    assert found == select(client.get(reverse("changes")), "section.note p")
    return found


def test_a_manager_is_asked_once_lots_strike_sooner(client, boss, hurried):
    [first, *_] = asks(client)
    changed = timezone.localdate() - timedelta(days=CHANGED)
    [told] = [of for of in noticing.asked() if of.stage == "struck"]
    assert abs((told.since - changed).days) < 45
    assert told.low
    assert told.below > 0.8 * told.lots
    assert " lots strike sooner than expected (" in first
    assert f"({told.below} of {told.lots})" in first


def test_later_and_fewer_are_said_as_such(client, boss, by):
    nursery(by, CHANGED, strikes=52, takes=20)
    says = " ".join(asks(client))
    assert "lots strike later than expected" in says
    assert "fewer take than expected" in says


def test_a_nursery_that_stays_as_it_is_is_not_asked(client, boss, by):
    nursery(by, 0)
    assert noticing.asked() == []
    assert asks(client) == []


def test_who_can_note_nothing_is_not_asked(client, grower, hurried):
    assert noticing.asked()
    assert asks(client) == []
    assert client.post(reverse("change-nothing")).status_code == 403


def test_nothing_changed_ends_the_question_for_good(client, boss, hurried):
    answer = client.post(reverse("change-nothing"), follow=True)
    assert "nothing changed" in " ".join(select(answer, "[role=status]")).casefold()
    assert asks(client) == []
    outlook.refit()
    assert asks(client) == []


def test_a_change_that_is_noted_answers_it(client, boss, hurried):
    client.post(reverse("change-new"), {"what": "", "day": ""})
    assert asks(client)
    day = timezone.localdate() - timedelta(days=CHANGED)
    client.post(reverse("change-new"), {"what": "new boiler", "day": day.isoformat()})
    assert asks(client) == []


def test_what_cannot_be_read_asks_nothing(client, boss, hurried):
    Fit.objects.update(noticed=[{"stage": "struck"}])
    assert asks(client) == []
    outlook.refit()
    assert asks(client)


def test_an_empty_book_is_asked_nothing(client, boss):
    assert asks(client) == []
    client.post(reverse("change-nothing"))
    assert asks(client) == []
