"""`manage.py forecast`: the shape of its JSON, earlier days, single lots, and what it refuses."""

import json
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from lots import ledger, outlook
from lots.codes import show
from lots.models import Forecast
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return factories.person()


def run(*arguments) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command("forecast", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def told(*arguments) -> dict[str, dict]:
    return {each["lot"]: each for each in json.loads(run("--json", *arguments)[0])}


def days_between(low: str, high: str) -> int:
    return (date.fromisoformat(high) - date.fromisoformat(low)).days


def test_every_lot_stuck_or_planned_is_told_to_the_letter(by):
    variety = factories.variety(code="RX01")
    book = [growing.grown(by=by, variety=variety) for _ in range(3)]
    done, *_others = growing.load(*book)
    [young] = growing.load((growing.stuck(5, variety=variety), []))
    planned = factories.planned_lot(variety=variety)
    ledger.not_stuck(factories.planned_lot(variety=variety))
    found = told()
    assert len(found) == 5
    one = found[young.code]
    assert list(one) == [
        "lot",
        "variety",
        "method",
        "stuck_on",
        "planned",
        "struck",
        "finished",
        "take",
        "units",
        "lots_behind",
        "basis",
    ]
    assert (one["variety"], one["method"]) == ("RX01", "leaf wedge")
    assert (one["stuck_on"], one["planned"]) == (young.stuck_on.isoformat(), False)
    assert one["struck"]["seen"] is one["finished"]["seen"] is None
    for stage in ("struck", "finished"):
        p10, p50, p90 = (date.fromisoformat(one[stage][name]) for name in ("p10", "p50", "p90"))
        assert young.stuck_on < p10 < p50 < p90
    assert one["units"]["p10"] <= one["units"]["p50"] <= one["units"]["p90"] <= 48
    assert one["take"]["p10"] < one["take"]["mean"] < one["take"]["p90"]
    assert (one["lots_behind"], one["basis"]) == ({"struck": 3, "finished": 3, "take": 3}, "own")
    assert found[done.code]["struck"]["seen"] == done.struck_on.isoformat()
    assert found[done.code]["units"] == {"p10": 36, "p50": 36, "p90": 36}
    assert (found[planned.code]["stuck_on"], found[planned.code]["planned"]) == (None, True)
    assert found[planned.code]["struck"]["p50"] > timezone.localdate().isoformat()


def test_an_earlier_day_uses_only_what_had_been_seen_by_then(by):
    variety = factories.variety()
    old = [growing.grown(days=400, by=by, variety=variety) for _ in range(3)]
    [*_old, late] = growing.load(*old, growing.grown(days=100, by=by, variety=variety))
    day = late.stuck_on + timedelta(days=35)
    then = told("--as-of", day.isoformat())[late.code]
    assert then["struck"]["seen"] is None
    assert then["lots_behind"]["struck"] == 3
    # Two days later it was seen struck.
    now = told("--as-of", (day + timedelta(days=3)).isoformat())[late.code]
    assert now["struck"]["seen"] == late.struck_on.isoformat()
    assert now["lots_behind"]["struck"] == 4
    before = told("--as-of", (late.stuck_on - timedelta(days=1)).isoformat())[late.code]
    assert (before["planned"], before["stuck_on"]) == (True, None)


def test_today_is_the_same_as_the_book_as_it_stands(by):
    growing.load(*(growing.grown(days=days, by=by) for days in (20, 40, 100, 300)))
    assert told("--as-of", timezone.localdate().isoformat()) == told()


def test_a_book_without_a_fit_is_fitted_and_then_it_says_what_the_pages_say(by):
    growing.load(*(growing.grown(by=by) for _ in range(3)))
    assert all(each["basis"] == "own" for each in told().values())
    assert set(Forecast.objects.values_list("basis", flat=True)) == {"handbook", "own"}
    [young] = growing.load(growing.grown(days=120, by=by))
    page = young.forecasts.get(moment="newest")
    said = told(young.code)[young.code]
    assert said["lots_behind"]["take"] == page.lots_take == 3
    assert said["finished"]["p50"] == page.finished_p50.isoformat()
    outlook.refit()
    assert told(young.code)[young.code]["lots_behind"]["take"] == 4


def test_by_the_handbook_it_says_so(by):
    factories.stuck_lot()
    out, err = run("--json")
    assert [each["basis"] for each in json.loads(out)] == ["handbook"]
    assert "handbook" in err


def test_an_empty_book_is_an_empty_list():
    out, err = run("--json")
    assert json.loads(out) == []
    assert "nothing to forecast" in err


def test_single_lots_by_their_codes(by):
    one, two = factories.stuck_lot(), factories.stuck_lot()
    assert set(told(show(one.code).lower())) == {one.code}
    assert set(told(one.code, two.code)) == {one.code, two.code}


def test_a_line_for_a_person(by):
    lot = factories.stuck_lot(days=0)
    out, _err = run()
    assert out.startswith(f"{show(lot.code)}: strikes ")
    assert "finished here; by the handbook" in out


@pytest.mark.parametrize(
    ("words", "says", "status"),
    [
        (["--as-of", "31.3.2026"], "YYYY-MM-DD", 2),
        (["7K3QFA"], "not the code of a lot", 1),
        (["7K3QFY"], "No lot in this book has the code 7K3-QFY", 1),
    ],
)
def test_what_it_refuses(words, says, status):
    with pytest.raises(CommandError, match=says) as fault:
        run(*words)
    assert fault.value.returncode == status


def test_more_is_known_by_a_lot_than_by_none(by):
    variety = factories.variety()
    [young] = growing.load((growing.stuck(2, variety=variety), []))
    alone = told(young.code)[young.code]["finished"]
    # Of the same season: lots of another season leave open how much the season does here.
    growing.load(*(growing.grown(365, by=by, variety=variety) for _ in range(10)))
    outlook.refit()
    informed = told(young.code)[young.code]["finished"]
    assert days_between(informed["p10"], informed["p90"]) < days_between(alone["p10"], alone["p90"])


def test_leap_day_and_a_lot_older_than_the_book(by):
    old = growing.stuck(0)
    old.stuck_on = date(2024, 2, 29)
    growing.load((old, []))
    one = told()[old.code]
    assert one["stuck_on"] == "2024-02-29"
    assert one["struck"]["p10"] > "2024-03-01"
