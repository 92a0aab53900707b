"""From the plan to sessions: lines become planned lots with cuts and flats, and a session's own
rows say how surely what is wanted is met."""

from datetime import timedelta

import pytest
from django.urls import reverse

from lots.models import Cut, Flat, Lot, Plan, StickingSession
from lots.supply import plan
from tests import factories
from tests.lots.supply.planning import first_line, limits
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def test_lines_become_a_session_with_cuts_and_are_planned_no_more(client, boss, target, today):
    client.post(reverse("plan"))
    [made] = plan.newest().plan.lines
    row = Plan.objects.get()  # as if its week had come
    monday = today - timedelta(days=today.weekday())
    row.data["lines"][0]["week"] = monday.isoformat()
    row.save()
    day = today + timedelta(days=1)
    answer = client.post(
        reverse("plan-session"), {"day": day.isoformat(), "line": [first_line(client)]}, follow=True
    )
    session = StickingSession.objects.get(day=day)
    assert answer.redirect_chain[-1][0] == reverse("session", args=[session.pk])
    [lot] = Lot.objects.filter(session=session)
    assert (lot.variety, lot.method.name) == (target.variety, "leaf wedge")
    assert lot.planned_units == made.units
    assert "For 60 of 9 cm" in lot.note
    cuts = Cut.objects.filter(lot=lot)
    assert {(cut.stock_plant, cut.pieces) for cut in cuts} == set(made.stock)
    assert plan.newest().plan.lines == []
    assert plan.is_behind()
    # Worked out again, what the session sticks serves the target.
    plan.renew(2)
    assert plan.newest().plan.lines == []
    [met] = plan.newest().plan.met
    assert met.target == target


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"line": ["1:2030-01-01:2030-01-07"]}, "has changed since"),
        ({}, "No line is ticked"),
        ({"day": "2020-01-01", "line": ["x"]}, "That day is over"),
        ({"day": "soon", "line": ["x"]}, "no day"),
    ],
)
def test_a_session_that_cannot_be_is_refused_in_words(client, boss, target, today, sent, says):
    plan.renew(2)
    answer = client.post(reverse("plan-session"), {"day": today.isoformat()} | sent, follow=True)
    assert says in " ".join(select(answer, ".messages, .message, [role=status], [role=alert]"))
    assert StickingSession.objects.count() == 0


def row_link(client, session) -> str:
    """Where the row of a session's only lot leads, and what it says."""
    [link] = elements(client.get(reverse("session", args=[session.pk])), "td a.small")
    return " ".join("".join(link.itertext()).split()), link.get("href")


def test_a_line_of_a_session_says_how_surely_its_target_is_met(client, boss, target, today):
    lot = factories.planned_lot(variety=target.variety, session=factories.session(day=today))
    says, leads_to = row_link(client, lot.session)
    assert says.startswith("enough for 60 by")
    assert "60 pots or more" in " ".join(select(client.get(leads_to), "main"))
    plan.renew(2)  # once there is a plan, the row has its number: the same as that of the targets
    says, _leads_to = row_link(client, lot.session)
    planned = plan.newest().plan
    [told] = [*planned.met, *planned.short]
    assert says.endswith(f"met {told.in_100} times in 100")


def flats_of(client, day) -> tuple[str | None, str]:
    plan.renew(2)
    row = Plan.objects.get()
    row.data["lines"][0]["week"] = (day - timedelta(days=day.weekday())).isoformat()
    row.save()
    sent = {"day": day.isoformat(), "line": [first_line(client)]}
    client.post(reverse("plan-session"), sent)
    lot = Lot.objects.get(session__day=day, note__gt="")
    return lot.flat and lot.flat.code, lot.note


def test_flats_that_are_free_are_proposed(client, boss, target, today):
    limits(flats=50, cells_per_flat=24)
    for code in ("F01", "F02", "F03", "F04", "F05", "F06"):
        Flat.objects.create(code=code)
    full = factories.stuck_lot()
    full.flat = Flat.objects.get(code="F01")
    full.save()
    factories.planned_lot(flat=Flat.objects.get(code="F03"))
    flat, note = flats_of(client, today)
    [n] = [int(word) for word in note.split() if word.isdecimal()][-1:]
    assert flat == "F02"
    assert "F02, F04, F05" in note
    assert "F01" not in note
    assert "F03" not in note
    assert n == note.split("free:")[1].count("F")  # as many as it says are needed


def test_a_nursery_without_flats_is_not_asked_for_one(client, boss, target, today):
    assert flats_of(client, today)[0] is None
