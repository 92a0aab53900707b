"""Fitting anew: by command, and by itself while the book is served; what it renews and what stays
frozen."""

import json
import threading
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lots import ledger, outlook
from lots.forecast.effects import NoConvergence
from lots.models import Fit, Forecast, StrikeCheck
from lots.outlook import refits, stored_fit
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return factories.person()


def a_check(lot, rooted=1):
    now = timezone.now()
    check = StrikeCheck(looked_at=48, rooted=rooted, by=lot.stuck_by, observed_at=now)
    ledger.record(lot, [check])


def aged():
    """Let the newest fit be of an hour ago."""
    hour_ago = timezone.now() - timedelta(hours=1)
    Fit.objects.update(read_at=max(hour_ago, timezone.localtime().replace(hour=0, minute=0)))


def test_the_command_says_what_it_found(by):
    growing.load(*(growing.grown(by=by) for _ in range(5)), growing.died(by=by))
    out = StringIO()
    call_command("refit", "--json", stdout=out)
    said = json.loads(out.getvalue())
    assert said["as_of"] == timezone.localdate().isoformat()
    assert said["lots"] == {"struck": 5, "finished": 5, "take": 6}
    assert set(said) == {"as_of", "seconds", "lots", "struck", "finished", "take"}
    assert 0.02 < said["struck"]["sigma"] < 0.3
    assert set(said["finished"]) == {"sigma", "tau"}
    assert set(said["take"]) == {"rho", "tau"}
    out = StringIO()
    call_command("refit", stdout=out)
    assert "Lots that say when they struck: 5" in out.getvalue()


def test_an_empty_book_is_the_handbooks_and_keeps_nothing():
    out, err = StringIO(), StringIO()
    call_command("refit", "--json", stdout=out, stderr=err)
    assert json.loads(out.getvalue())["lots"] == {"struck": 0, "finished": 0, "take": 0}
    assert "handbook" in err.getvalue()
    assert not Fit.objects.exists()
    assert not stored_fit.is_behind()


def test_a_refit_renews_what_stands_and_leaves_what_was_frozen(by):
    variety = factories.variety()
    lot = factories.stuck_lot(days=1, variety=variety)
    frozen = lot.forecasts.values().get(moment="sticking")
    before = lot.forecasts.get(moment="newest")
    growing.load(*(growing.grown(by=by, strikes=24, variety=variety) for _ in range(8)))
    outlook.refit()
    newest = lot.forecasts.get(moment="newest")
    assert (before.basis, newest.basis) == ("handbook", "own")
    assert newest.struck_p50 < before.struck_p50
    assert newest.made_at > before.made_at
    assert lot.forecasts.values().get(moment="sticking") == frozen
    late = lot.late_after
    lot.refresh_from_db()
    assert late is None or lot.late_after < late


def test_planned_lots_are_renewed_and_closed_ones_have_no_newest_forecast(by):
    planned = factories.planned_lot()
    [dead] = growing.load(growing.died(by=by))
    growing.load(growing.grown(by=by))
    outlook.refit()
    assert planned.forecasts.get().basis == "own"
    assert set(dead.forecasts.values_list("moment", flat=True)) == {"sticking"}


def test_a_lot_that_came_with_its_history_is_judged_by_what_was_known_then(by):
    variety = factories.variety()
    old = [growing.grown(days=900 - 5 * n, by=by, variety=variety, strikes=24) for n in range(8)]
    new = [growing.grown(days=200, by=by, variety=variety, strikes=24)]
    first, *_rest, last = growing.load(*old, *new)
    outlook.refit()
    then, later = first.forecasts.get(moment="sticking"), last.forecasts.get(moment="sticking")
    assert (then.hindsight, then.basis, then.lots_struck) == (True, "handbook", 0)
    assert (later.hindsight, later.basis) == (True, "own")
    assert 0 < later.lots_struck <= 8
    assert (later.struck_p50 - last.stuck_on).days < (then.struck_p50 - first.stuck_on).days


def test_new_records_are_noticed_and_a_fit_of_them_is_not_made_twice(
    by, django_capture_on_commit_callbacks
):
    lot = factories.stuck_lot(days=30, by=by)
    assert stored_fit.is_behind()
    outlook.refit()
    aged()
    Fit.objects.update(changed_at=None)
    assert not stored_fit.is_behind()
    with django_capture_on_commit_callbacks(execute=True):
        a_check(lot)
    assert stored_fit.is_behind()
    outlook.refit()
    Fit.objects.update(changed_at=timezone.now() - timedelta(minutes=1))
    assert not stored_fit.is_behind()


@pytest.mark.parametrize("change", ["stick", "void", "plan", "load"])
def test_whatever_changes_the_book_is_noticed(change, by, django_capture_on_commit_callbacks):
    lot = factories.stuck_lot(days=30, by=by)
    a_check(lot)
    outlook.refit()
    aged()
    Fit.objects.update(changed_at=None)
    with django_capture_on_commit_callbacks(execute=True):
        if change == "stick":
            factories.stuck_lot()
        elif change == "plan":
            factories.planned_lot()
        elif change == "void":
            ledger.void(StrikeCheck.objects.get(), by=by, why="wrong lot")
        else:
            growing.load(growing.died(by=by))
    assert stored_fit.is_behind()


def test_a_fit_of_yesterday_is_made_again():
    factories.stuck_lot()
    outlook.refit()
    Fit.objects.update(read_at=timezone.now() - timedelta(days=1), changed_at=None)
    assert stored_fit.is_behind()


def test_the_server_refits_when_the_book_changed(by, monkeypatch):
    monkeypatch.setattr(refits.connections, "close_all", lambda: None)
    factories.stuck_lot(days=30, by=by)
    stop = threading.Event()
    waits = []

    def wait(seconds):
        waits.append(seconds)
        return len(waits) > 2

    stop.wait = wait
    outlook.refit_in_background(stop)
    assert Fit.objects.exists()
    assert waits[0] == 0
    assert min(waits[1:]) >= refits.EVERY


def test_a_change_while_the_book_is_fitted_is_not_lost(
    by, monkeypatch, django_capture_on_commit_callbacks
):
    """Marked long before the fit began, and changed once more while it was worked out."""
    lot = factories.stuck_lot(days=30, by=by)
    outlook.refit()
    aged()
    Fit.objects.update(changed_at=timezone.now() - timedelta(minutes=30))

    def change_too(*_arguments):
        with django_capture_on_commit_callbacks(execute=True):
            a_check(lot)

    monkeypatch.setattr(refits.hindcasts, "hindcast", change_too)
    outlook.refit()
    assert stored_fit.is_behind()


def test_a_refit_that_dies_half_way_is_made_again(by, monkeypatch):
    lot = factories.stuck_lot(days=30, by=by)
    outlook.refit()
    before = Fit.objects.values().get()
    Fit.objects.update(changed_at=timezone.now())

    def die(*_arguments):
        raise MemoryError

    with monkeypatch.context() as dying:
        dying.setattr(refits.hindcasts, "hindcast", die)
        with pytest.raises(MemoryError):
            outlook.refit()
    assert Fit.objects.values().get()["read_at"] == before["read_at"]
    assert stored_fit.is_behind()
    outlook.refit()
    assert Fit.objects.get().read_at > before["read_at"]
    assert lot.forecasts.filter(moment="newest").exists()


def test_a_fit_that_fails_leaves_the_one_before(
    by, monkeypatch, caplog, django_capture_on_commit_callbacks
):
    monkeypatch.setattr(refits.connections, "close_all", lambda: None)
    lot = factories.stuck_lot(days=30, by=by)
    outlook.refit()
    before = Fit.objects.values().get()
    with django_capture_on_commit_callbacks(execute=True):
        a_check(lot)

    def fails(*_arguments):
        raise NoConvergence("no")

    monkeypatch.setattr(refits.fits, "fit", fails)
    stop = threading.Event()
    answers = iter([False, True])
    stop.wait = lambda _seconds: next(answers)
    outlook.refit_in_background(stop)
    assert "could not be made anew" in caplog.text
    after = Fit.objects.values().get()
    assert after | {"changed_at": None} == before | {"changed_at": None}


def test_the_newest_forecast_follows_the_record_at_once(by):
    lot = factories.stuck_lot(days=30, by=by)
    before = lot.forecasts.get(moment="newest")
    a_check(lot)
    after = lot.forecasts.get(moment="newest")
    assert after.struck_p10 > before.struck_p10
    assert after.made_at > before.made_at
    assert Forecast.objects.filter(lot=lot).count() == 2


def test_more_lots_take_no_more_queries_to_renew(by):
    def lots(count):
        growing.load(*(growing.grown(days=30, by=by) for _ in range(count)))

    lots(2)
    outlook.refit()
    with CaptureQueriesContext(connection) as few:
        outlook.refit()
    lots(20)
    outlook.refit()
    with CaptureQueriesContext(connection) as many:
        outlook.refit()
    assert len(many) == len(few)


def test_a_book_that_cannot_be_fitted_is_told_by_the_command(by, monkeypatch):
    def fail():
        raise NoConvergence("No mode after 60 steps: 4 rows.")

    growing.load(growing.grown(by=by))
    monkeypatch.setattr(outlook, "refit", fail)
    with pytest.raises(CommandError, match="The forecasts before stay"):
        call_command("refit")
