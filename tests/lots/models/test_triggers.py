"""Rule 1, held by the database itself: a record is never edited or deleted, only voided, once."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from lots import ledger
from lots.models import RECORDS, Loss, Lot, triggers
from lots.models.triggers import (
    MAY_CHANGE,
    keep_records,
    missing_triggers,
    release_records,
)
from tests.factories import person, place, stuck_lot
from tests.lots.entries import check, finish, leave, loss, move, potup

pytestmark = pytest.mark.django_db

KINDS = pytest.mark.parametrize("kind", RECORDS)


def a_record_of(kind):
    """One stored record of a kind, with those before it that it needs."""
    by = person()
    lot = stuck_lot(units=10)
    entries = {
        "check": [check(by)],
        "loss": [loss(by)],
        "move": [move(by, place())],
        "potup": [potup(by)],
        "finish": [potup(by), finish(by, 3)],
        "leave": [potup(by), finish(by, 3), leave(by, 2)],
    }[kind]
    return ledger.record(lot, entries)[-1][0]


def kept(entry):
    """The row as it stands, which nothing in these tests may change."""
    return type(entry).objects.values().get(pk=entry.pk)


def sql(statement, *values):
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def sql_to_the_end(statement, *values):
    """With the checks that otherwise wait for the end of the transaction."""
    sql(statement, *values)
    connection.check_constraints()


def columns_of(entry):
    """The quoted columns of a record's table, by their names."""
    return {
        field.column: connection.ops.quote_name(field.column)
        for field in entry._meta.concrete_fields
    }


@KINDS
def test_no_column_of_a_record_is_edited_with_raw_sql(kind):
    entry = a_record_of(kind)
    before = kept(entry)
    table = entry._meta.db_table
    for name, column in columns_of(entry).items():
        if name in MAY_CHANGE:
            continue
        with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
            sql(f"UPDATE {table} SET {column} = {column} WHERE id = %s", entry.pk)  # noqa: S608
    assert kept(entry) == before


@KINDS
def test_nor_through_the_models(kind):
    entry = a_record_of(kind)
    before = kept(entry)
    entry.observed_at = timezone.now()
    with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
        entry.save()
    everything = type(entry).objects.all()
    with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
        everything.update(by=person())
    with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
        everything.bulk_update([entry], ["observed_at"])
    with pytest.raises(IntegrityError, match=r"never edited|stored once"), transaction.atomic():
        everything.bulk_create(
            [entry],
            update_conflicts=True,
            unique_fields=["uuid"],
            update_fields=["observed_at"],
        )
    assert kept(entry) == before


@KINDS
def test_no_record_is_deleted(kind):
    entry = a_record_of(kind)
    before = kept(entry)
    table = entry._meta.db_table
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        sql(f"DELETE FROM {table} WHERE id = %s", entry.pk)  # noqa: S608
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        entry.delete()
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        type(entry).objects.all().delete()
    entry.pk = before["id"]
    assert kept(entry) == before


@KINDS
def test_no_table_of_records_is_emptied(kind):
    """PostgreSQL's TRUNCATE passes the triggers on rows, and CASCADE reaches every table."""
    entry = a_record_of(kind)
    before = kept(entry)
    connection.check_constraints()  # TRUNCATE refuses tables with checks that still wait
    empty = "TRUNCATE {} CASCADE" if connection.vendor == "postgresql" else "DELETE FROM {}"
    for table in (entry._meta.db_table, Lot._meta.db_table):
        with pytest.raises(IntegrityError), transaction.atomic():
            sql_to_the_end(empty.format(table))
    assert kept(entry) == before


@KINDS
def test_a_whole_book_can_be_thrown_away_and_the_next_one_is_kept(kind):
    gone = type(a_record_of(kind))
    release_records(using="default")
    gone.objects.all().delete()
    connection.check_constraints()
    keep_records(using="default")
    assert missing_triggers(using="default") == []
    entry = a_record_of(kind)
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        entry.delete()


@KINDS
def test_no_record_is_put_in_the_place_of_another(kind):
    """SQLite's REPLACE deletes what it conflicts with; PostgreSQL has nothing of the kind."""
    entry = a_record_of(kind)
    before = kept(entry)
    table = entry._meta.db_table
    verb = "INSERT OR REPLACE" if connection.vendor == "sqlite" else "INSERT"
    columns = list(columns_of(entry).values())
    new_id = [f"{column} + 1" if column == '"id"' else column for column in columns]
    for copied in (columns, new_id):
        with pytest.raises(IntegrityError), transaction.atomic():
            sql(
                f"{verb} INTO {table} ({', '.join(columns)}) "  # noqa: S608
                f"SELECT {', '.join(copied)} FROM {table} WHERE id = %s",
                entry.pk,
            )
    assert kept(entry) == before


@KINDS
def test_a_record_is_voided_whole(kind):
    entry = a_record_of(kind)
    before = kept(entry)
    by, now = person(), timezone.now()
    for half in (
        {"voided_at": now},
        {"voided_by": by},
        {"voided_why": "because"},
        {"voided_at": now, "voided_by": by},
        {"voided_at": now, "voided_why": "because"},
        {"voided_by": by, "voided_why": "because"},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            type(entry).objects.filter(pk=entry.pk).update(**half)
    assert kept(entry) == before


@KINDS
def test_a_voided_record_is_voided_for_good(kind):
    entry = a_record_of(kind)
    ledger.void(entry, by=entry.by, why="counted twice")
    before = kept(entry)
    rows = type(entry).objects.filter(pk=entry.pk)
    for change in (
        {"voided_at": None, "voided_by": None, "voided_why": ""},
        {"voided_why": "better words"},
        {"voided_by": person()},
        {"voided_at": timezone.now()},
    ):
        with pytest.raises(IntegrityError, match="stays as it is"), transaction.atomic():
            rows.update(**change)
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        sql(f"DELETE FROM {entry._meta.db_table}")  # noqa: S608
    assert kept(entry) == before


def test_the_lot_and_the_person_of_a_record_stay():
    entry = a_record_of("loss")
    for table, pk in ((Lot._meta.db_table, entry.lot_id), ("nursery_person", entry.by_id)):
        with pytest.raises(IntegrityError), transaction.atomic():
            sql_to_the_end(f"DELETE FROM {table} WHERE id = %s", pk)  # noqa: S608


def test_laying_the_triggers_again_changes_nothing():
    entry = a_record_of("loss")
    keep_records(using="default")
    keep_records(using="default")
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        Loss.objects.filter(pk=entry.pk).delete()


def test_a_trigger_that_was_dropped_is_back_after_the_next_migrate():
    """SQLite drops the triggers of a table that a migration copies and renames."""
    entry = a_record_of("loss")
    table = Loss._meta.db_table
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    sql(f"DROP TRIGGER {table}_never_deleted{on}")
    keep_records(using="default")
    with pytest.raises(IntegrityError, match="never deleted"), transaction.atomic():
        sql(f"DELETE FROM {table} WHERE id = %s", entry.pk)  # noqa: S608


def test_a_column_that_a_migration_added_is_guarded_too(monkeypatch):
    entry = a_record_of("move")
    change = f"UPDATE {entry._meta.db_table} SET what = 'pots' WHERE id = %s"  # noqa: S608
    with monkeypatch.context() as before:
        before.setattr(triggers, "MAY_CHANGE", {*triggers.MAY_CHANGE, "what"})
        keep_records(using="default")
    with transaction.atomic():
        sql(change, entry.pk)
        transaction.set_rollback(True)
    keep_records(using="default")
    with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
        sql(change, entry.pk)


def test_the_pot_size_of_a_record_stays():
    entry = a_record_of("potup")
    with pytest.raises(IntegrityError), transaction.atomic():
        sql_to_the_end("DELETE FROM lots_potsize WHERE id = %s", entry.pot_size_id)
