"""The time zone belongs to the book: kept in it, changed on purpose, followed everywhere."""

import subprocess
import sys
import threading
from datetime import UTC, datetime, time, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from lots import ledger
from lots.ledger.audit import audit
from lots.models import Lot
from nursery import backup, book, clock
from nursery.models import BookSettings
from tests.factories import person, stuck_lot
from tests.lots.entries import check
from tests.nursery import own_book
from tests.nursery.conftest import BASE, environment
from tests.pages import query_count, select

# Whatever the hour, it is another day in one than in the other.
EAST, WEST = "Pacific/Kiritimati", "Pacific/Midway"


def change(*words: str) -> str:
    out = StringIO()
    call_command("timezone", *words, stdout=out)
    return out.getvalue()


def at(lot: Lot, hour: int, minute: int = 0, days: int = 0) -> datetime:
    day = lot.stuck_on + timedelta(days=days)
    return datetime.combine(day, time(hour, minute), UTC)


def test_a_book_without_one_goes_by_what_the_environment_says(db, settings):
    assert not book.holds_something()
    BookSettings.objects.all().delete()
    settings.TIME_ZONE = EAST
    clock.keep("default")
    settings.TIME_ZONE = WEST
    clock.keep("default")
    assert BookSettings.objects.get().time_zone == clock.name() == EAST
    assert timezone.get_current_timezone_name() == EAST


def test_another_one_in_the_environment_is_told_and_not_followed(folder):
    done = subprocess.run(
        [sys.executable, "manage.py", "timezone"],
        cwd=BASE,
        env=environment(folder) | {"NURSERY_TIME_ZONE": "Europe/Lisbon"},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout == "This book goes by UTC.\n"
    assert done.stderr.count("NURSERY_TIME_ZONE says Europe/Lisbon, and this book goes by UTC") == 1
    assert "manage.py timezone --set Europe/Lisbon" in done.stderr


def test_a_manager_is_told_on_today_and_data(client, boss, settings):
    clock.settle(ZoneInfo("Europe/Oslo"))
    for told in ("", "Europe/Oslo", "Europe/Lisbon"):
        settings.NURSERY_TIME_ZONE = told
        for url in ("/", "/data/"):
            notes = [text for text in select(client.get(url), ".note.wrong") if "ZONE" in text]
            assert len(notes) == (told == "Europe/Lisbon")
    assert "goes by Europe/Oslo" in select(client.get("/data/"), "[aria-labelledby=zone] p")[0]
    client.force_login(person())
    assert not select(client.get("/"), ".note.wrong")


def test_pages_follow_it_and_ask_nothing_for_it(client, grower):
    asked = query_count(client, "/")
    days = set()
    for zone in (EAST, WEST):
        clock.settle(ZoneInfo(zone))
        timezone.deactivate()  # as in a thread that has not heard of it
        days.add(select(client.get("/"), "h1")[0])
    assert len(days) == 2
    assert query_count(client, "/") == asked


def test_what_another_process_settles_is_followed_by_whoever_opens_the_book(site):
    clock.settle(ZoneInfo(EAST))
    BookSettings.objects.update(time_zone=WEST)  # this process doesn't hear of it
    assert clock.name() == EAST
    days = []

    def work() -> None:
        with own_book.using(site):
            connection.ensure_connection()
            days.append(timezone.localdate())

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert days == [timezone.localdate(timezone=ZoneInfo(WEST))]
    assert clock.name() == WEST  # and so for each request that follows


def test_a_change_works_the_days_near_midnight_anew_and_says_so(db):
    near, noon = stuck_lot(days=60, units=40), stuck_lot(days=60, units=40)
    by = person()
    ledger.record(near, [check(by, at=at(near, 23, 30, days=30), looked_at=40, rooted=30)])
    ledger.record(noon, [check(by, at=at(noon, 10, days=30), looked_at=40, rooted=30)])
    days = [near.stuck_on + timedelta(days=n) for n in (30, 31)]
    dry = change("--set", "Europe/Oslo", "--dry-run")
    assert clock.name() == "UTC"
    said = change("--set", "Europe/Oslo")
    assert f"{near}: Struck on is {days[0]} in the book and {days[1]} by its records" in said
    assert str(noon) not in said
    assert "1 lot would change" in dry
    assert dry.splitlines()[1] == said.splitlines()[1]
    assert Lot.objects.get(pk=near.pk).struck_on == days[1]
    assert Lot.objects.get(pk=noon.pk).struck_on == days[0]
    assert not audit().faults


def test_a_record_that_falls_before_sticking_then_is_told(db, capsys):
    lot = stuck_lot(days=60)
    ledger.record(lot, [check(person(), at=at(lot, 2))])
    with pytest.raises(SystemExit) as ended:
        call_command("timezone", "--set", "America/Denver")
    assert ended.value.code == 1
    assert f"{lot}: It was stuck on" in (said := capsys.readouterr().out)
    assert "Put right the day it was stuck" in said
    ledger.stick(lot, units=48, on=lot.stuck_on - timedelta(days=1), by=lot.stuck_by)
    assert not audit().faults


def test_a_mistyped_one_is_refused(db):
    with pytest.raises(CommandError, match="written like Europe/Lisbon") as refused:
        change("--set", "Europe/Lisbonn")
    assert refused.value.returncode == 2


def test_a_backup_carries_it(site, tmp_path):
    clock.settle(ZoneInfo(EAST))
    made = backup.backup(tmp_path / "kept.zip")
    clock.settle(ZoneInfo(WEST))
    backup.restore(made.path)
    assert clock.name() == EAST
    assert timezone.get_current_timezone_name() == EAST
