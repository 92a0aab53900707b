"""The first hour: an empty book leads, step by step, to the first printed tag."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots.catalogue import starter
from lots.forecast import handbook
from lots.models import CropGroup, Lot, Method, Place, PotSize, StickingSession, Variety
from lots.views.catalogue.starting import steps
from tests import factories
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def ticked(client) -> dict:
    """What the page of the starter catalogue sends as it stands."""
    page = client.get(reverse("starter"))
    sent: dict[str, list[str]] = {}
    for box in elements(page, "input[checked]"):
        sent.setdefault(box.get("name"), []).append(box.get("value"))
    return sent


def test_the_starter_catalogue_is_the_handbooks(client, boss):
    client.post(reverse("starter"), ticked(client))
    assert set(CropGroup.objects.values_list("name", flat=True)) == set(handbook.kinds())
    for method in Method.objects.all():
        assert method.how_to
        assert method.cut_like in handbook.methods()
        assert handbook.expect("", method.cut_like, method.source_part)
    assert PotSize.objects.count() == len(starter.POTS)
    assert Method.objects.first().history.get().history_user == boss
    # Once more there is nothing left of it, and nothing is doubled.
    assert "All that the handbook has" in " ".join(select(client.get(reverse("starter")), "main"))
    client.post(reverse("starter"), {})
    assert PotSize.objects.count() == len(starter.POTS)


def test_only_what_is_ticked_comes_in_and_what_is_there_is_not_offered(client, boss):
    factories.potsize(name="9 CM")
    sent = ticked(client)
    assert "9 cm" not in sent["pots"]
    client.post(reverse("starter"), {"groups": ["hoya"], "pots": ["7 cm"]})
    assert list(CropGroup.objects.values_list("name", "genus")) == [("hoya", "Hoya")]
    assert Method.objects.count() == 0
    answer = client.post(reverse("starter"), {"groups": ["moon plant"]})
    assert answer.status_code == 422


def test_places_by_the_bench(client, boss):
    sent = {"first": 1, "last": 3, "places": 14}
    client.post(reverse("places-range"), sent)
    names = list(Place.objects.values_list("name", flat=True))
    assert (names[0], names[13], names[14], names[-1]) == ("1-01", "1-14", "2-01", "3-14")
    assert len(names) == 42
    assert {place.bench for place in Place.objects.all()} == {"1", "2", "3"}
    # What is there stays; what is new comes behind it on the walk.
    client.post(reverse("places-range"), sent | {"last": 4, "house": ""})
    assert Place.objects.count() == 56
    assert [place.name for place in Place.objects.all()][:42] == names
    answer = client.post(reverse("places-range"), sent)
    assert "in the book already" in " ".join(select(answer, ".errorlist"))


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"first": 3, "last": 1, "places": 5}, "comes after the first"),
        ({"first": 1, "last": 999, "places": 900}, "make 2000 at most"),
        ({"first": 0, "last": 1, "places": 5}, "1"),
    ],
)
def test_places_that_cannot_be_are_told(client, boss, sent, says):
    answer = client.post(reverse("places-range"), sent)
    assert answer.status_code == 422
    assert says in " ".join(select(answer, ".errorlist"))
    assert Place.objects.count() == 0


def test_an_empty_book_opens_on_the_first_steps_until_something_is_stuck(client, boss):
    assert len(select(client.get("/"), ".steps li")) == len(steps())
    factories.stuck_lot()
    assert select(client.get("/"), ".steps li") == []
    assert len(select(client.get(reverse("start")), ".steps li")) == len(steps())


def test_a_grower_is_not_sent_to_what_a_manager_does(client, grower):
    assert select(client.get("/"), ".steps li") == []
    for name in ("start", "starter", "places-range", "lot-enter"):
        assert client.get(reverse(name)).status_code == 403


def test_from_nothing_to_the_tag_in_five_forms(client, boss):
    """Starter, varieties, session, line, tag."""
    assert not any(step.done for step in steps())
    client.post(reverse("starter"), ticked(client))
    lines = {"lines": "Begonia 'Silver Moth'\trex begonia", "plants": "on", "add": "1"}
    client.post(reverse("varieties-paste"), lines)
    day = timezone.localdate() + timedelta(days=1)
    client.post(reverse("session-new"), {"day": day.isoformat()})
    [session] = [step for step in steps() if step.leads == reverse("session-new")]
    assert not session.done
    line = {"variety": Variety.objects.get().code, "units": 48, "pieces_per_unit": 1}
    method = Method.objects.get(name="leaf wedge")
    made = StickingSession.objects.get()
    client.post(reverse("session-add", args=[made.pk]), line | {"method": method.pk})
    lot = Lot.objects.get()
    answer = client.get(reverse("session-tags", args=[made.pk]))
    assert answer.content.startswith(b"%PDF")
    assert [step.done for step in steps()] == [True, True, False, True, False, False]
    assert lot.planned_units == 48
