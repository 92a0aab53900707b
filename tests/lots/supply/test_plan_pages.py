"""The plan's pages: weeks and what can't be met, sessions made of lines, what is settled by hand,
limits, the week, what is offered, and targets at risk on Today."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.urls import reverse

from lots import supply
from lots.models import Limit, Plan, PlanSettings, Target, Wish
from lots.supply import plan
from tests import factories
from tests.lots import growing
from tests.lots.supply.planning import ahead, first_line, limits, page
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def test_without_a_plan_it_says_what_one_is_for(client, boss):
    answer = client.get(reverse("plan"))
    assert "No plan is made yet" in " ".join(select(answer, "p.empty"))
    assert select(answer, "main button") == ["Work it out"]


def test_a_grower_reads_it_and_changes_nothing(client, grower, target):
    plan.renew(2)
    assert select(client.get(reverse("plan")), "main button") == []
    for name in ("plan", "plan-session", "plan-wish"):
        assert client.post(reverse(name)).status_code == 403
    assert client.get(reverse("limits")).status_code == 403
    assert Wish.objects.count() == 0


def test_worked_out_it_says_what_to_stick_when_and_of_which_plants(client, boss, target):
    client.post(reverse("plan"))
    [made] = plan.newest().plan.lines
    says = page(client)
    assert "Begonia ‘Silver Test’" in says
    assert f"{made.units} leaf wedge" in says
    assert all(f"{plant} {pieces} pieces" in says for plant, pieces in made.stock)
    assert "60 × 9 cm" in says
    assert "fair" in says
    assert made.chance >= 0.9
    assert f"{int(100 * made.chance)}" in select(client.get(reverse("plan")), "td.number")


def test_what_cannot_be_met_stands_first_with_what_would_lift_it(client, boss, variety, today):
    factories.target(variety=variety, pots=60, wanted_by=today + timedelta(days=20))
    client.post(reverse("plan"))
    says = page(client)
    assert "60 of 60 short" in says
    assert "ask for it then" in says
    today_says = page(client, "today")
    assert "Targets at risk" in today_says
    assert "60 will be short" in today_says


def test_lines_are_settled_by_hand_and_let_go(client, boss, target):
    client.post(reverse("plan"))
    [before] = plan.newest().plan.lines
    client.post(reverse("plan-wish"), {"bar": first_line(client)})
    [after] = plan.newest().plan.lines
    assert after.week != before.week
    assert "not in week" in page(client)
    client.post(reverse("plan-wish"), {"let_go": Wish.objects.get().pk})
    assert Wish.objects.count() == 0
    client.post(reverse("plan-wish"), {"pin": first_line(client)})
    [made] = plan.newest().plan.lines
    assert Wish.objects.get().units == made.units
    assert f"{made.units} in week" in page(client)
    answer = client.post(reverse("plan-wish"), {"pin": "9:9"}, follow=True)
    assert "has changed since" in " ".join(select(answer, "body"))


def test_it_keeps_to_what_it_said_and_tells_what_changed_since_last_week(client, boss, target):
    plan.renew(2)
    row = Plan.objects.get()
    week = timedelta(weeks=1)
    monday = plan.newest().plan.horizon.monday
    row.data["today"] = (monday - week).isoformat()
    row.data["lines"][0]["units"] += 40
    row.save()
    plan.renew(2)
    says = page(client)
    assert "Otherwise than last week" in says
    assert "Last week:" in says


def test_it_is_behind_when_what_it_hangs_on_changes(boss, target):
    assert plan.is_behind()
    plan.renew(1)
    assert not plan.is_behind()
    target.pots = 70
    target.save()
    assert plan.is_behind()
    plan.renew(1)
    limits(flats=9)
    assert plan.is_behind()
    plan.renew(1)
    PlanSettings.objects.create(pk=1, confidence=0.8)
    assert plan.is_behind()


def test_a_kept_plan_that_cannot_be_read_is_none_and_made_anew(client, boss, target, caplog):
    plan.renew(1)
    Plan.objects.update(data={"format": 1, "lines": 3})
    assert plan.newest() is None
    assert "No plan is made yet" in page(client)
    client.post(reverse("plan"))
    assert plan.newest().plan.lines
    Plan.objects.update(data={"format": 99})
    assert plan.newest() is None


def test_what_has_gone_from_the_book_goes_from_the_kept_plan(client, boss, target):
    plan.renew(1)
    target.delete()
    found = plan.newest().plan
    assert (found.lines, found.met, found.short) == ([], [], [])
    assert client.get(reverse("plan")).status_code == 200


def test_limits_are_entered_changed_and_taken_out(client, boss, today):
    assert "Nothing is limited yet" in page(client, "limits")
    client.post(reverse("limit-new"), {"flats": 60, "minutes": 600})
    client.post(reverse("limit-new"), {"week": today.isoformat(), "minutes": 0})
    every, one = Limit.objects.all()
    assert (every.week, every.flats, every.minutes) == (None, 60, 600)
    assert one.week == today - timedelta(days=today.weekday())
    assert "Every week" in page(client, "limits")
    client.post(reverse("limit-change", args=[every.pk]), {"flats": 70})
    every.refresh_from_db()
    assert (every.flats, every.minutes) == (70, None)
    client.post(reverse("limit-remove", args=[one.pk]))
    assert Limit.objects.count() == 1


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"flats": ""}, "Nothing is limited yet"),
        ({"flats": -1}, "0"),
        ({"flats": 5}, "Every week has its line already"),
        ({"cells_per_flat": 0, "week": "2030-01-01"}, "1"),
    ],
)
def test_limits_that_cannot_be_are_told(client, boss, sent, says):
    limits(flats=60)
    answer = client.post(reverse("limit-new"), sent)
    assert answer.status_code == 422
    assert says in " ".join(select(answer, ".errorlist, .note.wrong, form"))
    assert Limit.objects.count() == 1


def test_how_sure_is_the_books_own_to_say(client, boss):
    client.post(reverse("limits"), {"confidence": 80})
    assert supply.usual_confidence() == 0.8
    assert client.post(reverse("limits"), {"confidence": 100}).status_code == 422
    assert supply.usual_confidence() == 0.8


def test_the_week_says_what_is_to_be_done_with_its_hours(client, boss, target, variety, today):
    limits(flats=60)
    plan.renew(2)
    session = factories.session(day=today)
    factories.planned_lot(variety=variety, session=session, planned_units=60)
    factories.target(variety=variety, pots=12, wanted_by=today)
    answer = client.get(reverse("week"))
    heads = select(answer, "main h2")
    assert heads[0].startswith("To stick 0.5 hours")
    assert "1 lot" in " ".join(select(answer, "#stick ~ ul"))
    says = page(client, "week")
    assert "12 × 9 cm" in says
    assert "12 short" in says
    assert len(elements(answer, "figure.chart")) >= 1


def test_the_week_asks_about_lots_that_are_not_worth_their_bench(client, boss, target, variety):
    plan.renew(2)
    assert "Throw it away" not in page(client, "week")
    poor = factories.stuck_lot(days=20, units=48, variety=variety, method=factories.method())
    poor.to_come.all().delete()
    assert "Throw it away?" in page(client, "week")


def test_what_is_spoken_for_is_not_offered(client, grower, variety):
    by = factories.person()
    growing.load(growing.grown(by=by, takes=30, variety=variety, method=factories.method()))
    cells = select(client.get(reverse("offer")), "#offer td.number")
    assert cells[0] == "30"
    factories.target(variety=variety, pots=12, wanted_by=ahead(3))
    cells = select(client.get(reverse("offer")), "#offer td.number")
    assert cells[0] == "18"
    told = list(csv.DictReader(StringIO(client.get(reverse("offer-csv")).content.decode())))
    assert [(row["variety"], row["pots"]) for row in told] == [("RX04", "18")]
    answer = client.get(reverse("offer-pdf"))
    assert answer.content.startswith(b"%PDF")
    factories.target(variety=variety, pots=99, wanted_by=ahead(3))
    assert "Nothing is free to offer" in page(client, "offer")


def test_today_says_what_still_saves_a_target(client, boss, target, today):
    plan.renew(2)
    assert "Targets at risk" not in page(client, "today")
    row = Plan.objects.get()
    monday = today - timedelta(days=today.weekday())
    row.data["lines"][0]["week"] = monday.isoformat()
    row.save()
    says = page(client, "today")
    units = row.data["lines"][0]["units"]
    assert f"Stick {units} this week" in says
    assert "met in 0 of 100 cases" in says


def test_targets_show_their_chance_and_are_closed(client, boss, target, today):
    plan.renew(2)
    says = page(client, "targets")
    assert "(0 as it is)" in says
    assert "of 90" in says
    client.post(reverse("target-close", args=[target.pk]), {"outcome": "met"})
    target.refresh_from_db()
    assert (target.outcome, target.closed_on) == ("met", today)
    assert "Closed of late" in page(client, "targets")
    assert client.get(reverse("target-close", args=[target.pk])).status_code == 404


def test_a_standing_target_goes_on_until_it_is_dropped(client, boss, target, today):
    sent = {"variety": target.variety_id, "pot_size": target.pot_size_id, "pots": 60}
    sent |= {"wanted_by": ahead(4), "every_weeks": 4, "until": ahead(9), "confidence": "0.95"}
    client.post(reverse("target-change", args=[target.pk]), sent)
    target.refresh_from_db()
    assert (target.every_weeks, target.until, target.confidence) == (4, ahead(9), 0.95)
    rows = select(client.get(reverse("targets")), "tbody tr")
    assert len(rows) == 2
    assert all("every 4 weeks" in row for row in rows)
    client.post(reverse("target-close", args=[target.pk]), {"outcome": "missed"})
    target.refresh_from_db()
    assert (target.outcome, target.wanted_by) == ("", ahead(8))
    kept = Target.objects.get(outcome="missed")
    assert (kept.wanted_by, kept.every_weeks, kept.pots) == (ahead(4), None, 60)
    client.post(reverse("target-close", args=[target.pk]), {"outcome": "dropped"})
    assert "No target is open" in page(client, "targets")


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"until": "2030-01-01"}, "say every how many weeks"),
        ({"until": "2020-01-01", "every_weeks": 4}, "No last day can be before the first"),
        ({"every_weeks": 0}, "1"),
    ],
)
def test_a_standing_target_that_cannot_be_is_told(client, boss, target, sent, says):
    given = {"variety": target.variety_id, "pot_size": target.pot_size_id, "pots": 60}
    answer = client.post(reverse("target-new"), given | {"wanted_by": ahead(4)} | sent)
    assert answer.status_code == 422
    assert says in " ".join(select(answer, "form"))


def test_a_list_is_pasted_with_weeks_and_what_comes_again(client, boss, variety):
    name = factories.potsize().name
    lines = f"RX04\t{name}\t60\t2031-W20\tfair\t\t0.95\t4\t2031-W40\n"
    client.post(reverse("targets-paste"), {"lines": lines})
    target = Target.objects.get()
    assert target.wanted_by.isocalendar()[:3] == (2031, 20, 7)
    assert (target.confidence, target.every_weeks) == (0.95, 4)
    assert target.until.isocalendar()[:2] == (2031, 40)
