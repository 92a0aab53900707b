"""Whatever is damaged behind the ledger's back, the audit finds and names."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from lots.ledger.audit import audit
from lots.models import RECORDS, Lot, Place
from lots.models.triggers import keep_records
from tests.lots import books

pytestmark = pytest.mark.django_db

CELLS, DIRECT, PLANNED = "7K3QFY", "9XYZAH", "0B1CDF"
TABLES = [Lot, *RECORDS.values()]


@pytest.fixture
def book(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))


def damage(statement: str, *values: object) -> None:
    """Run a statement that constraints and triggers would refuse. They are back afterwards,
    but for PostgreSQL's constraints, which the end of the test brings back."""
    connection.check_constraints()
    with connection.cursor() as cursor:
        for model in TABLES:
            drop_guards(cursor, model)
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints=ON")
        cursor.execute(statement, values)
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints=OFF")
    keep_records("default")


def drop_guards(cursor, model) -> None:
    table = model._meta.db_table
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    for guard in ("never_edited", "voided_once", "never_deleted"):
        cursor.execute(f"DROP TRIGGER IF EXISTS {table}_{guard}{on}")
    if connection.vendor == "postgresql":
        for name, about in connection.introspection.get_constraints(cursor, table).items():
            if about["check"] or about["foreign_key"]:
                cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT {name}")


def found() -> list[tuple[str | None, int, str]]:
    return [(fault.lot, fault.rule, fault.says) for fault in audit().faults]


def test_a_sound_book_has_no_fault(book):
    result = audit()
    assert (result.lots, result.records, result.faults) == (4, 11, [])


TOO_MANY = "Units stuck: 40; alive in cells, lost or potted up: 43."
TOO_MANY_POTS = "Pots made: 10; growing, lost, finished or gone out: 11."
OF_COUNTS = [
    ("cells = 9", [(2, TOO_MANY), (6, "Alive in cells is 9 in the book and 6 by its records.")]),
    ("cells = 7, cells_lost = 3", [(6, "lost from cells is 3 in the book and 4 by its records.")]),
    ("cells = -2, cells_lost = 12", [(2, "A count is below nothing."), (6, "cells is -2 in")]),
    ("pots_left = 4", [(2, TOO_MANY_POTS), (6, "Pots gone out is 4 in the book and 3 by")]),
    ("stage = 'struck'", [(6, "Stage is struck in the book and finished by its records.")]),
    ("struck_on = '2026-03-20'", [(6, "Struck on is 2026-03-20 in the book and 2026-03-27 by")]),
    ("finished_on = NULL", [(6, "Finished on is nothing in the book and 2026-03-30 by")]),
    (
        "pots_place_id = first_place_id",
        [(6, "Place of its pots is ")],
    ),
    ("seen_on = NULL", [(6, "Last looked at is nothing in the book and 2026-03-31 by")]),
]


@pytest.mark.parametrize(("change", "faults"), OF_COUNTS)
def test_what_a_lot_says_of_itself_is_held_against_its_records(book, change, faults):
    damage(f"UPDATE lots_lot SET {change} WHERE code = %s", CELLS)  # noqa: S608
    told = found()
    assert [(lot, rule) for lot, rule, _says in told] == [(CELLS, rule) for rule, _says in faults]
    for (_lot, _rule, says), (_same, expected) in zip(told, faults, strict=True):
        assert expected in says


def test_a_lot_stands_where_it_was_moved_to(book):
    first = Place.objects.get(name="A1")
    damage("UPDATE lots_lot SET place_id = %s WHERE code = %s", first.pk, CELLS)
    ((lot, rule, says),) = found()
    assert (lot, rule) == (CELLS, 6)
    assert says.startswith("Place is ")


OF_RECORDS = [
    (
        "UPDATE lots_loss SET units = 99 WHERE stage = 'cell'",
        [
            (CELLS, 2, "The loss of 25 Mar 2026 takes 99 where 40 are alive in cells."),
        ],
    ),
    (
        "UPDATE lots_loss SET units = 99 WHERE stage = 'pot'",
        [
            (DIRECT, 2, "The loss of 25 Mar 2026 takes 99 where 20 are growing in pots."),
        ],
    ),
    (
        "UPDATE lots_leave SET pots = 10 WHERE way = 'sold'",
        [
            (CELLS, 2, "The leave of 31 Mar 2026 takes 10 where 9 are finished pots."),
        ],
    ),
    (
        "UPDATE lots_strikecheck SET voided_at = NULL, voided_by_id = NULL, voided_why = ''",
        [
            (CELLS, 2, "The strike check of 28 Mar 2026 takes 99 where 36 are alive."),
        ],
    ),
    (
        "UPDATE lots_move SET observed_at = '2026-03-01 10:00:00+00:00'",
        [
            (CELLS, 5, "It was stuck on 2 Mar 2026, and has a move of 1 Mar 2026."),
        ],
    ),
    (
        "UPDATE lots_move SET observed_at = '2199-01-01 10:00:00+00:00'",
        [
            (CELLS, 5, "It has a move of 1 Jan 2199, which has not come yet."),
        ],
    ),
    (
        "UPDATE lots_loss SET stage = 'cell' WHERE stage = 'pot'",
        [
            (DIRECT, 2, "It was stuck straight into pots, and has a pot-up or a loss from cells."),
        ],
    ),
]


@pytest.mark.parametrize(("statement", "faults"), OF_RECORDS)
def test_a_record_changed_behind_the_ledger_is_found(book, statement, faults):
    damage(statement)
    assert found() == faults


def test_a_record_taken_out_is_found(book):
    damage("DELETE FROM lots_leave WHERE way = 'sold'")
    ((lot, rule, says),) = found()
    assert (lot, rule) == (CELLS, 6)
    assert "pots gone out is 3 in the book and 0 by its records" in says


def test_a_planned_lot_has_no_records(book):
    planned = Lot.objects.get(code=PLANNED)
    damage("UPDATE lots_move SET lot_id = %s", planned.pk)
    assert {(lot, rule) for lot, rule, _says in found()} == {(CELLS, 6), (PLANNED, 6)}
    assert (PLANNED, 6, "It was never stuck, and has 1 record.") in found()


@pytest.mark.parametrize("number", [0, 999_999_999])
def test_records_of_no_lot_are_found(book, number):
    with books.passing():
        damage("UPDATE lots_potup SET lot_id = %s", number)
        says = f"1 record belongs to no lot (its number would be {number})."
        assert (None, 6, says) in found()
        assert {lot for lot, _rule, _says in found()} == {None, CELLS}


def test_a_lot_at_a_place_that_is_not_there_is_found(book):
    with books.passing():
        damage("UPDATE lots_lot SET first_place_id = 999999 WHERE code = %s", CELLS)
        assert (CELLS, 6, "It stands at a place or in a flat that is not in the book.") in found()


def test_a_missing_trigger_is_a_fault_of_the_book(book):
    on = " ON lots_loss" if connection.vendor == "postgresql" else ""
    connection.check_constraints()
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER lots_loss_never_deleted{on}")
    assert found() == [
        (
            None,
            1,
            "The database's guard lots_loss_never_deleted is missing; run “manage.py migrate”.",
        )
    ]


def run(*words: str) -> tuple[int, str]:
    out = StringIO()
    try:
        call_command("audit", *words, stdout=out)
    except SystemExit as end:
        return end.code, out.getvalue()
    return 0, out.getvalue()


def test_the_command_says_it_in_json_and_by_its_exit_status(book):
    status, out = run("--json")
    assert (status, json.loads(out)) == (0, {"records": 11, "lots": 4, "faults": []})
    damage("UPDATE lots_lot SET stage = 'struck' WHERE code = %s", CELLS)
    status, out = run("--json")
    assert status == 1
    assert json.loads(out) == {
        "records": 11,
        "lots": 4,
        "faults": [
            {
                "lot": CELLS,
                "rule": 6,
                "says": "Stage is struck in the book and finished by its records.",
            }
        ],
    }


def test_the_command_says_it_to_a_person(book):
    assert run() == (0, "Lots: 4; records: 11; faults: 0.\n")
    damage("UPDATE lots_lot SET stage = 'struck' WHERE code = %s", CELLS)
    status, out = run()
    assert status == 1
    assert out.startswith("7K3-QFY: Stage is struck in the book")


def test_more_lots_take_no_more_queries(tmp_path, django_assert_num_queries, book):
    with django_assert_num_queries(23):
        audit()
    lots = [
        "code,variety,method,planned_units,pieces_per_unit,stuck_on,stuck_units",
    ]
    lots += [f"{code},V1,tip,9,1,2026-03-02,9" for code in ("9XYZBF", "0B1CED", "2M4PVH")[:2]]
    books.bring_in(books.write(tmp_path / "more", lots=lots))
    with django_assert_num_queries(23):
        assert audit().lots == 6
