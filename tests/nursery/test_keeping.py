"""Which backups stay, told from their moments alone, and then on the disk."""

import logging
import shutil
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery import backup
from nursery.backup import keeping, making
from nursery.backup.contents import Contents
from nursery.backup.keeping import retained

FIRST = datetime(2024, 2, 28, 18, 30, tzinfo=UTC)


def periods(moment):
    return moment.date(), moment.isocalendar()[:2], (moment.year, moment.month)


def stays(moment, moments, days):
    """The rule once more, of one backup: too few periods after its own have a backup."""
    later = [other for other in moments if other > moment]
    if not [other for other in later if other.date() > moment.date()]:
        return True
    for number, (own, most) in enumerate(zip(periods(moment), (days, 8, 24), strict=True)):
        after = {periods(other)[number] for other in later}
        if own not in after and len(after) < most:
            return True
    return False


@settings(max_examples=60, deadline=None)
@given(
    st.sets(st.integers(0, 3 * 365 * 4), min_size=1, max_size=150),
    st.integers(1, 20),
)
def test_the_newest_of_so_many_days_weeks_and_months_stay(quarters, days):
    moments = {FIRST + timedelta(hours=6) * quarter for quarter in quarters}
    assert retained(moments, days) == {each for each in moments if stays(each, moments, days)}


def test_three_years_of_a_backup_a_day_leave_days_weeks_and_months():
    """Cleared away day by day, what stays is what would of all: no month loses its last one."""
    there = set()
    every_day = [FIRST + timedelta(days=day) for day in range(3 * 365)]
    for moment in every_day:
        there = retained(there | {moment})
    assert there == retained(every_day)
    last = every_day[-1]
    assert last.date().isoformat() == "2027-02-26"
    days = {last - timedelta(days=day) for day in range(14)}
    sundays = [each for each in every_day if each.isoweekday() == 7][-7:]  # this week goes on
    months = [each for each in every_day if (each + timedelta(days=1)).day == 1][-23:]
    assert there == days | {*sundays, *months}
    assert min(there).date().isoformat() == "2025-03-31"


def at(monkeypatch, moment):
    monkeypatch.setattr(making.timezone, "now", lambda: moment)


@pytest.fixture
def quick(site, settings, monkeypatch):
    """Backups of a database of a few bytes: what is looked at is the files."""

    def save(folder, auditing):
        copy = folder / "book.sqlite3"
        copy.write_bytes(b"the book")
        return copy, Contents({}, [], set())

    for database in (making.sqlite, making.postgresql):
        monkeypatch.setattr(database, "save", save)
    return settings.DATA_DIR / "backups"


def days_of(made):
    return sorted(each.made_at.date().isoformat() for each in made)


@pytest.mark.django_db
def test_thirty_days_keep_the_bytes_of_each_photo_once(quick, settings, monkeypatch, caplog):
    caplog.set_level(logging.INFO, "nursery.backup")
    photos = settings.MEDIA_ROOT / "2024/02"
    photos.mkdir(parents=True)
    for number in range(5):
        (photos / f"{number}.jpg").write_bytes(bytes([number]) * 50_000)
    whole = backup.backup(settings.DATA_DIR / "old.zip").path
    for day in range(30):
        at(monkeypatch, FIRST + timedelta(days=day))
        backup.backup()
    there = backup.backups()
    assert days_of(there)[-14:] == [f"2024-03-{day}" for day in range(15, 29)]
    assert days_of(there)[:-14] == ["2024-02-29", "2024-03-03", "2024-03-10"]
    assert [one.manifest.photos for one in there] == [5] * 17
    assert sorted(backup.photo_sizes()) == [50_000] * 5
    on_disk = [file.stat().st_size for file in quick.rglob("*") if file.is_file()]
    assert sum(on_disk) == 5 * 50_000 + sum(one.size for one in there)
    assert max(one.size for one in there) < 2_000
    assert "Cleared away the backup strikebook-2024-03-04-183000.zip" in caplog.text
    assert whole.exists()


@pytest.mark.django_db
def test_whole_backups_of_before_are_cleared_away_by_the_same_rule(quick, settings, monkeypatch):
    for day in range(20):
        at(monkeypatch, FIRST + timedelta(days=day))
        made = backup.backup(settings.DATA_DIR / "whole.zip").path
        quick.mkdir(exist_ok=True)
        shutil.move(made, quick / f"strikebook-{day}.zip")
    at(monkeypatch, FIRST + timedelta(days=20))
    backup.backup()
    march = [f"2024-03-{day:02}" for day in range(6, 20)]
    assert days_of(backup.backups()) == ["2024-02-29", "2024-03-03", *march]


@pytest.mark.django_db
def test_no_clock_set_wrong_clears_away_good_backups(quick, monkeypatch):
    for day in range(14):
        at(monkeypatch, FIRST + timedelta(days=day))
        backup.backup()
    before = days_of(backup.backups())
    ahead = FIRST + timedelta(days=5000)
    at(monkeypatch, ahead)
    backup.backup()
    # One day more has a backup: one of a week that has another goes, as on any next day.
    assert days_of(backup.backups()) == [*before[1:], "2037-11-06"]
    behind = FIRST - timedelta(days=5000)
    there = days_of(backup.backups())
    for day in range(3):
        at(monkeypatch, behind + timedelta(days=day))
        assert backup.backup_if_due() is not None
    assert set(there) <= set(days_of(backup.backups()))
    # The clock is right again: what is dated ahead neither goes nor counts.
    at(monkeypatch, FIRST + timedelta(days=14))
    made = backup.backup_if_due()
    assert backup.last_backup() == made
    assert "2037-11-06" in days_of(backup.backups())


@pytest.mark.django_db
def test_a_photo_goes_with_the_last_backup_that_names_it(quick, settings, monkeypatch):
    kept_out = settings.DATA_DIR / "photo"
    photo = settings.MEDIA_ROOT / "a.jpg"
    photo.parent.mkdir()
    photo.write_bytes(b"a photo")
    at(monkeypatch, FIRST)
    first = backup.backup(keep=1).path
    photo.rename(kept_out)
    by_hand = first.rename(first.with_name("before the import.zip"))
    damaged = quick / "strikebook-damaged.zip"
    damaged.write_bytes(b"it may be read another day")
    for left_by in (damaged, by_hand):
        backup.backup(keep=1)
        assert backup.photo_sizes() == [7]
        left_by.unlink()
    backup.backup(keep=1)
    assert backup.photo_sizes() == []


@pytest.mark.django_db
def test_a_backup_stands_although_old_ones_cannot_be_cleared_away(quick, monkeypatch, caplog):
    def full(*_arguments):
        raise OSError("read-only")

    monkeypatch.setattr(keeping, "prune", full)
    assert backup.backup() == backup.last_backup()
    assert "read-only" in caplog.text
