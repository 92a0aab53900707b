"""A forecast never stands in the way of a record, and what is kept outlives its format."""

import json
from pathlib import Path

import numpy as np
import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from lots import formats, ledger, outlook
from lots.models import Fit, Forecast, StrikeCheck
from lots.outlook import calendar, fits, forecasts, stored_fit, verification
from tests import factories
from tests.lots import growing
from tests.pages import select

pytestmark = pytest.mark.django_db
FROZEN = Path(__file__).parent / "frozen"


@pytest.fixture
def by():
    return factories.person()


def frozen(name):
    return json.loads((FROZEN / f"{name}.json").read_text())


def check(lot, by):
    now = timezone.now()
    entry = StrikeCheck(looked_at=48, rooted=30, by=by, observed_at=now)
    [(stored, is_new)] = ledger.record(lot, [entry])
    assert is_new
    lot.refresh_from_db()
    assert (lot.held, StrikeCheck.objects.get(pk=stored.pk).rooted) == (30, 30)
    return lot


def nonsense():
    """A fit that can be read, and nothing forecast from."""
    data = fits.dump(stored_fit.handbook())
    data["struck"]["sigma"] = None
    return data


@pytest.mark.parametrize(
    "data",
    [{}, [], {"format": 99}, {"format": "new"}, {"format": 1, "struck": 3}, nonsense],
)
def test_a_broken_fit_lets_the_record_through_and_the_handbook_stands_in(data, by, caplog):
    lot = factories.stuck_lot(days=30, by=by)
    kept_data = data() if callable(data) else data
    Fit.objects.create(pk=1, read_at=timezone.now(), seconds=1, data=kept_data)
    check(lot, by)
    newest = lot.forecasts.get(moment="newest")
    assert newest.basis == "handbook"
    assert newest.made_at > Fit.objects.get().read_at
    assert caplog.records


def test_the_page_says_that_the_handbook_stands_in_until_the_refit(client, by):
    lot = factories.stuck_lot(days=30, by=by)
    outlook.refit()
    Fit.objects.update(data={"format": 99}, calendar={"format": 99}, judged={"format": 99})
    Fit.objects.update(read_at=timezone.now(), changed_at=None)
    assert stored_fit.is_behind()
    check(lot, by)
    client.force_login(by)
    for name in ("today", "due", "availability", "forecasts", "mine"):
        assert client.get(reverse(name)).status_code == 200
    page = client.get(reverse("lot", args=[lot.code]))
    assert any("handbook stands in" in note for note in select(page, "p.note"))
    outlook.refit()
    page = client.get(reverse("lot", args=[lot.code]))
    assert not any("handbook stands in" in note for note in select(page, "p.note"))


@pytest.mark.parametrize("where", ["predict", "save"])
def test_a_forecast_that_fails_altogether_leaves_the_one_before_and_the_page_says_so(
    where, client, by, monkeypatch, caplog
):
    lot = factories.stuck_lot(days=30, by=by)
    before = lot.forecasts.get(moment="newest").made_at

    def fail(*_arguments):
        if where == "predict":
            raise np.linalg.LinAlgError("singular")
        with connection.cursor() as cursor:  # PostgreSQL gives the whole transaction up for this
            cursor.execute("SELECT nothing FROM nowhere")

    with monkeypatch.context() as failing:
        failing.setattr(forecasts, where, fail)
        check(lot, by)
    assert lot.forecasts.get(moment="newest").made_at == before
    assert "could not be made" in caplog.text
    client.force_login(by)
    page = client.get(reverse("lot", args=[lot.code]))
    assert any("older than the newest record" in note for note in select(page, "p.note"))
    check(lot, by)
    page = client.get(reverse("lot", args=[lot.code]))
    assert not any("older than" in note for note in select(page, "p.note"))


def test_sticking_and_loading_go_on_without_a_forecast_too(by, monkeypatch, caplog):
    def fail(*_arguments):
        raise FloatingPointError

    monkeypatch.setattr(forecasts, "predict", fail)
    lot = factories.stuck_lot(by=by)
    assert lot.is_stuck
    [grown] = growing.load(growing.grown(by=by))
    assert grown.finished_on
    assert not Forecast.objects.exists()
    monkeypatch.undo()
    outlook.refit()
    assert {forecast.moment for forecast in lot.forecasts.all()} == {"newest", "sticking"}


def test_a_transaction_that_the_database_gave_up_is_not_told_as_saved(by, monkeypatch):
    lot = factories.stuck_lot(by=by)

    def full(*_arguments):
        raise DatabaseError("disk full")

    with monkeypatch.context() as failing:
        failing.setattr(forecasts, "predict", full)
        failing.setattr(connection, "savepoint_rollback", full)
        with pytest.raises(DatabaseError), transaction.atomic():
            check(lot, by)
        connection.set_rollback(False)


@pytest.mark.parametrize("kept", ["fit-1", "fit-2", "fit-3", "fit-4"])
def test_an_older_format_of_a_fit_is_still_read_and_forecasts(kept, by):
    fit = fits.load(frozen(kept))
    assert fit.lots_behind == {"struck": 3, "finished": 3, "take": 4}
    lot = factories.stuck_lot(days=30, by=by)
    now = timezone.now()
    Fit.objects.create(pk=1, read_at=now, seconds=1, data=frozen(kept), calendar={}, judged=[])
    check(lot, by)
    assert not outlook.is_broken()


def test_the_first_format_of_each_is_still_read():
    days = calendar.load(frozen("calendar-1"))
    assert days.monday.isoformat() == "2026-11-23"
    for kept in ("judged-1", "judged-2"):
        tallies = verification.load(frozen(kept))
        assert {tally.stage for tally in tallies} == {"finished", "struck", "take"}
        assert {tally.half for tally in tallies} == {""}


def test_what_is_written_today_has_the_number_of_its_format(by):
    growing.load(growing.grown(by=by))
    outlook.refit()
    kept_now = Fit.objects.get()
    assert kept_now.data["format"] == len(fits.STEPS) + 1
    assert kept_now.calendar["format"] == len(calendar.STEPS) + 1
    assert kept_now.judged["format"] == len(verification.STEPS) + 1


def test_formats_are_brought_forward_one_by_one():
    steps = (lambda data: [*data, "two"], lambda data: {"format": 3, "all": [*data, "three"]})
    assert formats.bring_forward(["one"], steps)["all"] == ["one", "two", "three"]
    assert formats.bring_forward({"format": 3, "all": []}, steps)["all"] == []
    with pytest.raises(ValueError, match="Format 4 is not known here; the newest is 3"):
        formats.bring_forward({"format": 4}, steps)
