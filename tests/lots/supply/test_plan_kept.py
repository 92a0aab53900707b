"""The plan that is kept: worked out in a thread of its own, stopped, failed, made anew when the
book has changed."""

import threading
import time

import pytest
from django.urls import reverse
from django.utils import timezone

from lots.sticking import plans
from lots.supply import plan
from lots.supply.plan import kept, making
from tests import factories
from tests.lots.supply.planning import ahead, page
from tests.pages import select

pytestmark = pytest.mark.django_db


class NoConnections:
    """In place of Django's, which a thread would close, the test's own among them."""

    def close_all(self) -> None:
        pass


def test_while_it_is_worked_out_it_shows_how_far_it_is_and_can_be_stopped(
    client, boss, monkeypatch
):
    def renew(_seconds, progress):
        while not progress(12.5, 10.25):
            time.sleep(0.01)

    monkeypatch.setattr(kept, "renew", renew)
    monkeypatch.setattr(kept, "connections", NoConnections())
    working = plan.work(0.1)
    assert working.is_alive()
    assert plan.work(0) is working
    says = page(client)
    assert "being worked out" in says
    assert "12.5" in says
    client.post(reverse("plan"), {"do": "stop"})
    working.join(5)
    assert plan.working() is None
    assert "being worked out" not in page(client)


def test_a_plan_that_fails_is_told_and_the_one_before_stays(client, boss, target, monkeypatch):
    plan.renew(1)

    def renew(_seconds, _progress):
        raise ValueError("no such luck")

    monkeypatch.undo()
    monkeypatch.setattr(kept, "renew", renew)
    monkeypatch.setattr(kept, "connections", NoConnections())
    answer = client.post(reverse("plan"), follow=True)
    assert "could not be made" in " ".join(select(answer, "body"))
    assert plan.newest().plan.lines


def test_in_the_background_it_is_made_anew_once_it_is_behind(monkeypatch):
    closing, made = threading.Event(), []

    def renew(_seconds, _progress):
        made.append(1)
        if len(made) == 1:
            raise ValueError("once")  # it goes to the log, and the next time is tried again
        closing.set()

    monkeypatch.setattr(kept, "EVERY", 0.001)
    monkeypatch.setattr(kept, "connections", NoConnections())
    monkeypatch.setattr(kept, "is_behind", lambda: True)
    monkeypatch.setattr(kept, "renew", renew)
    plan.renew_in_background(closing)
    assert len(made) == 2


def test_a_plan_made_while_lines_went_into_a_session_does_not_bring_them_back(
    target, boss, monkeypatch
):
    plan.renew(1)
    [line] = plan.newest().plan.lines
    made = []

    def make(*given):
        found = making.make(*given)
        made.append(found)
        if len(made) == 1:  # meanwhile a manager makes a session of what the plan says
            plans.of_plan([line], timezone.localdate(), boss)
            plan.take_out([line])
        return found

    monkeypatch.setattr(kept, "make", make)
    plan.renew(1)
    assert len(made[0].lines) == 1
    assert len(made) == 2
    assert not plan.newest().plan.lines
    assert not plan.is_behind()


def test_a_book_that_never_stands_still_has_a_plan_all_the_same(target, monkeypatch):
    def make(*given):
        factories.target(variety=target.variety, wanted_by=ahead(20))
        return making.make(*given)

    monkeypatch.setattr(kept, "make", make)
    plan.renew(1)
    assert plan.newest().plan.lines
    assert plan.is_behind()
