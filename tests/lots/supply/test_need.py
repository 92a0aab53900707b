"""How many to stick for what is wanted, by the book: the command, its shape, what it refuses."""

import json
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from lots import ledger, supply
from lots.models import Cut, Lot, PotSize
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db
KEYS = {
    "variety", "method", "pot_size", "want", "by", "confidence", "units", "pieces", "stick_by",
    "chance", "naive", "take", "days", "stock", "short_of_pieces",
}  # fmt: skip


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def nursery():
    """Two years of lots that finish in 110 days, of which three in four take; two stock plants."""
    by, group, method = factories.person(), factories.group(), factories.method()
    variety = factories.variety(group=group, code="RX04")
    of = {"by": by, "variety": variety, "method": method}
    lots = [
        growing.grown(days, finishes=108 + n % 5, takes=34 + n % 5, **of)
        for n, days in enumerate(range(130, 730, 25))
    ]
    growing.load(*lots)
    for code in ("RX04-01", "RX04-02"):
        factories.stock_plant(code=code, variety=variety, pieces_per_cut=30, rest_weeks=4)
    growing.learn()
    return {"variety": "RX04", "method": method.name}


def told(**words) -> dict:
    out = StringIO()
    call_command("howmany", "--json", **words, stdout=out)
    return json.loads(out.getvalue())


def wanted(today, days=200, **more):
    return {"want": 40, "by": (today + timedelta(days=days)).isoformat()} | more


def test_it_has_the_shape_that_is_agreed(nursery, today):
    found = told(**nursery, **wanted(today, pot_size=factories.potsize().name))
    assert set(found) == KEYS
    assert found["confidence"] == 0.9
    assert set(found["naive"]) == {"units", "chance", "stick_by"}
    assert set(found["take"]) == {"mean", "p10", "p90"}
    assert set(found["days"]) == {"p10", "p50", "p90"}
    assert {frozenset(of) for of in found["stock"]} == {
        frozenset({"stock_plant", "pieces", "ready_on"})
    }
    assert 0.9 <= found["chance"] <= 1
    assert found["take"]["mean"] == pytest.approx(0.75, abs=0.05)
    assert found["days"]["p50"] == pytest.approx(111, abs=8)


def test_it_asks_for_more_than_dividing_does_and_is_sure_where_that_is_not(nursery, today):
    found = told(**nursery, **wanted(today))
    assert found["naive"]["units"] == pytest.approx(40 / found["take"]["mean"], abs=1)
    assert found["units"] > found["naive"]["units"]
    assert found["naive"]["chance"] < 0.6
    assert found["pieces"] == found["units"]


def test_the_day_is_the_latest_that_hardly_costs_more(nursery, today):
    found = told(**nursery, **wanted(today))
    day = date.fromisoformat(found["stick_by"])
    early = told(**nursery, **wanted(today, on=today.isoformat()))
    later = told(**nursery, **wanted(today, on=(day + timedelta(days=10)).isoformat()))
    assert today < day < today + timedelta(days=200 - 100)
    assert found["units"] <= 1.1 * early["units"] + 1
    assert later["units"] is None or later["units"] > 1.1 * early["units"]
    assert early["stick_by"] == today.isoformat()


def test_surer_costs_more(nursery, today):
    units = [told(**nursery, **wanted(today, confidence=c))["units"] for c in (0.5, 0.8, 0.95)]
    assert units == sorted(set(units))


def test_a_pot_of_several_pieces_takes_so_many(nursery, today):
    size = PotSize.objects.create(name="13 cm", diameter_cm=13, pieces_per_pot=3, least_struck=2)
    found = told(**nursery, **wanted(today, pot_size="13 CM"))
    assert found["pot_size"] == size.name
    assert found["pieces"] == 3 * found["units"]
    assert found["take"]["mean"] == pytest.approx(3 * 0.75**2 * 0.25 + 0.75**3, abs=0.06)


def test_too_late_is_said_with_the_days(nursery, today):
    found = told(**nursery, **wanted(today, days=20))
    assert set(found) == KEYS | {"why"}
    assert (found["units"], found["pieces"], found["chance"]) == (None, None, None)
    assert "too late" in found["why"]
    assert "20" in found["why"]


def test_plants_give_what_they_can_and_the_rest_is_short(nursery, today):
    found = told(**nursery, **wanted(today))
    assert [of["pieces"] for of in found["stock"]] == [30, min(30, found["units"] - 30)]
    assert found["short_of_pieces"] == max(found["units"] - 60, 0)


def test_who_rests_or_is_ill_gives_nothing(nursery, today):
    first, second = Lot.objects.first().variety.stock_plants.order_by("code")
    by = factories.person()
    planned = factories.planned_lot(plants=(first,), method=Lot.objects.first().method)
    ledger.stick(planned, units=20, on=today, by=by, place=None, flat=None)
    found = told(**nursery, **wanted(today, on=today.isoformat()))
    assert [of["stock_plant"] for of in found["stock"]] == [second.code]
    later = (today + timedelta(weeks=4)).isoformat()
    found = told(**nursery, **wanted(today, on=later))
    assert {of["stock_plant"]: of["ready_on"] for of in found["stock"]}[first.code] == later
    second.health = "quarantined"
    second.save()
    found = told(**nursery, **wanted(today, on=today.isoformat()))
    assert found["stock"] == []
    second.health = "watch"
    second.save()
    found = told(**nursery, **wanted(today, on=later))
    assert [of["stock_plant"] for of in found["stock"]] == [first.code, second.code]


def test_a_protected_variety_without_a_licence_is_not_multiplied(nursery, today):
    variety = Lot.objects.first().variety
    variety.protected, variety.licence = True, ""
    variety.save()
    found = told(**nursery, **wanted(today))
    assert found["units"] is None
    assert "licence" in found["why"]


def test_with_no_lot_on_record_the_handbook_answers(today):
    variety, method = factories.variety(), factories.method()
    found = told(variety=variety.code, method=method.name, **wanted(today, days=500))
    assert found["units"] > found["naive"]["units"]
    assert (found["stock"], found["short_of_pieces"]) == ([], found["units"])


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"want": 0}, "--want"),
        ({"want": 10**9}, "--want"),
        ({"by": "2020-01-01"}, "--by"),
        ({"on": "2020-01-01"}, "--on"),
        ({"confidence": 1.0}, "--confidence"),
        ({"variety": "nothing"}, "--variety"),
        ({"method": "nothing"}, "--method"),
        ({"pot_size": "nothing"}, "--pot-size"),
        ({"by": "tomorrow"}, "not a day"),
    ],
)
def test_what_cannot_be_asked_is_told(nursery, today, more, says):
    with pytest.raises(CommandError, match=says):
        told(**nursery | wanted(today) | more)


def test_in_words(nursery, today):
    out = StringIO()
    call_command("howmany", **nursery, **wanted(today), stdout=out)
    assert "Stick " in out.getvalue()
    assert "Dividing by the average take gives" in out.getvalue()
    call_command("howmany", **nursery, **wanted(today, days=20), stdout=out)
    assert "no number will do" in out.getvalue()


def test_units_of_several_pieces_speak_for_pots_of_as_many(nursery, today):
    Lot.objects.update(pieces_per_unit=3)
    Cut.objects.all().delete()
    growing.learn()
    size = PotSize.objects.create(name="13 cm", diameter_cm=13, pieces_per_pot=3, least_struck=2)
    found = told(**nursery, **wanted(today, pot_size=size.name))
    assert found["take"]["mean"] == pytest.approx(0.75, abs=0.05)
    assert found["pieces"] == 3 * found["units"]
    assert found["confidence"] == supply.CONFIDENCE
