"""What comes in as CSV is held against the book that stands, and added to it."""

from datetime import timedelta

import pytest
from django.utils import timezone

from lots.models import Loss, Lot, Method, Move, StrikeCheck
from tests.lots import books
from tests.lots.books import faults_of

pytestmark = pytest.mark.django_db

CHECKS = "lot,observed_at,by,looked_at,rooted,showing,whole_lot"
AT, LATER = books.AT.format(20), books.AT.format(28)


@pytest.fixture
def book(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))


# In a book that holds the hand-made one: a table, its lines, and the one fault they have.
ONE_FAULT = [
    (
        "places",
        ["place,walk_order", "A1,7"],
        (
            "row 2, column walk_order: A1 is already in the book with “1”, and this says "
            "“7”; change it in the book, or leave the row out"
        ),
    ),
    (
        "sessions",
        ["session,day,led_by", "S9,2026-02-20,anna"],
        ("row 2, column led_by: anna is neither in the book nor in people.csv; did you mean ana?"),
    ),
    (
        "checks",
        [CHECKS, f"9XYZBF,{AT},ana,5,2,,no"],
        ("row 2, column lot: 9XYZBF is neither in the book nor in lots.csv; did you mean 9XYZAH?"),
    ),
    (
        "checks",
        [CHECKS, "7K3QFY,2026-03-01T10:00:00Z,ana,5,2,,no"],
        (
            "row 2, column observed_at: 7K3-QFY was stuck on 2 Mar 2026; nothing can be "
            "seen on it before that."
        ),
    ),
    (
        "checks",
        [CHECKS, f"7K3QFY,{AT},ana,41,2,,no"],
        (
            "row 2, column looked_at: On 20 Mar 2026 the book had 40 of 7K3-QFY as alive, "
            "and this says 41."
        ),
    ),
    (
        "checks",
        [CHECKS, f"0B1CDF,{AT},ana,5,2,,no"],
        "row 2: 0B1-CDF is planned and not stuck yet; confirm the sticking first.",
    ),
    (
        "losses",
        ["lot,observed_at,by,stage,units,reason", f"9XYZAH,{AT},ana,cell,1,rot"],
        ("row 2, column stage: 9XY-ZAH was stuck straight into pots; its losses are from pots."),
    ),
    (
        "moves",
        ["lot,observed_at,by,place,what", f"9XYZAH,{AT},ana,A1,cells"],
        "row 2, column what: 9XY-ZAH was stuck straight into pots, so it has no cells to move.",
    ),
    (
        "losses",
        ["lot,observed_at,by,stage,units,reason", f"7K3QFY,{LATER},ana,cell,9,rot"],
        (
            "row 2: This doesn't fit the pot-up of 29 Mar 2026 that stands in the book: "
            "it took 30, and only 27 would be alive in cells then."
        ),
    ),
    (
        "cuts",
        ["lot,stock_plant,order,disinfected_before", "0B1CDF,P2,1,yes"],
        "row 2, column stock_plant: P2 is of variety V2, and the lot is of V1",
    ),
    (
        "cuts",
        ["lot,stock_plant,order,disinfected_before", "7K3QFY,P1,1,yes"],
        (
            "row 2, column pieces: 7K3QFY, P1 is already in the book with “40”, and this "
            "says “”; change it in the book, or leave the row out"
        ),
    ),
    (
        "moves",
        ["uuid,lot,observed_at,by,place", f"{books.U}000000000001,7K3QFY,{AT},ana,A1"],
        (
            f"row 2, column uuid: {books.U}000000000001 is a strike check in the book; "
            "each record has its own"
        ),
    ),
]


@pytest.mark.parametrize(("table", "lines", "fault"), ONE_FAULT, ids=range(len(ONE_FAULT)))
def test_what_does_not_fit_the_book_is_named_with_its_place(book, tmp_path, table, lines, fault):
    assert faults_of(tmp_path, **{table: lines}) == [f"{table}.csv, {fault}"]


def test_a_future_record_is_refused_beyond_what_clocks_differ(book, tmp_path):
    soon = timezone.now() + timedelta(minutes=5)
    late = timezone.now() + timedelta(minutes=15)
    rows = [f"7K3QFY,{at.isoformat()},ana,5,2,,no" for at in (soon, late)]
    assert faults_of(tmp_path, checks=[CHECKS, rows[0]]) == []
    (fault,) = faults_of(tmp_path, checks=[CHECKS, rows[1]])
    assert "has not come yet" in fault


def test_a_protected_variety_needs_a_licence_for_what_was_stuck(tmp_path):
    book = dict(books.BOOK)
    book["varieties"] = [line.replace("L-77", "") for line in book["varieties"]]
    (fault,) = faults_of(tmp_path, **book)
    assert fault.startswith("lots.csv, row 3, column variety: V2 is protected and has no licence")


def test_the_same_uuid_in_two_files_is_a_fault(tmp_path):
    book = dict(books.BOOK)
    book["moves"] = [
        line.replace(f"{books.U}000000000006", f"{books.U}000000000001") for line in book["moves"]
    ]
    (fault,) = faults_of(tmp_path, **book)
    assert fault == (
        f"moves.csv, row 2, column uuid: {books.U}000000000001 stands already in checks.csv; each "
        "record has its own"
    )


def test_a_record_that_is_voided_in_the_book_is_not_brought_back(book, tmp_path):
    lines = [line.replace("mistyped", "") for line in books.BOOK["checks"]]
    told = faults_of(tmp_path, checks=lines)
    says = f"checks.csv, row 4, column voided_why: {books.U}000000000003 is already in the book"
    assert any(fault.startswith(says) for fault in told)


def test_records_of_a_lot_in_the_book_are_added_and_its_sums_with_them(book, tmp_path):
    lines = ["lot,observed_at,by,stage,units,reason", f"7K3QFY,{LATER},ana,cell,6,rot"]
    assert faults_of(tmp_path, losses=lines) == []
    lot = Lot.objects.get(code="7K3QFY")
    assert (lot.cells, lot.cells_lost, lot.units_potted) == (0, 10, 30)
    assert Loss.objects.filter(lot=lot).count() == 2


def test_a_dry_run_says_what_would_be_added_and_adds_nothing(tmp_path):
    report = books.bring_in(books.write(tmp_path / "hand"), dry_run=True)
    assert report.added["checks"] == 3
    assert report.good
    assert not StrikeCheck.objects.exists()


def test_people_of_a_file_cannot_sign_in_until_a_password_is_set(book, django_user_model):
    ana = django_user_model.objects.get(username="ana")
    assert not ana.has_usable_password()
    assert (ana.name, ana.initials, ana.role) == ("Ana Müller-Łęcka", "AM", "grower")


def test_a_voided_record_was_voided_by_whom_and_when_the_file_says(book):
    check = StrikeCheck.objects.get(voided_why="mistyped")
    assert check.voided_by.username == "ana"
    assert check.voided_at.isoformat() == books.AT.format(30)


def test_a_voided_record_was_voided_by_who_wrote_it_if_the_file_says_no_more(book, tmp_path):
    lines = ["lot,observed_at,by,place,voided_why", f"7K3QFY,{LATER},bo,A1,mistyped"]
    assert faults_of(tmp_path, moves=lines) == []
    move = Move.objects.get(voided_why="mistyped")
    assert move.voided_by == move.by
    assert move.is_voided


def test_a_file_of_before_a_column_came_says_nothing_against_the_book(book, tmp_path):
    """The how-to card, when records were recorded: what the book has stands."""
    before = {"methods": ["method,source_part,pieces_per_source,needs_shoot"], "checks": []}
    before["methods"] += ["leaf wedge,leaf,6,yes"]
    before["checks"] = [line.rsplit(",", 3)[0] for line in books.BOOK["checks"]]
    report = books.bring_in(books.write(tmp_path / "before", **before))
    assert (report.faults, report.already) == ([], {"methods": 1, "checks": 3})
    assert Method.objects.get(name="leaf wedge").how_to.startswith("=one vein")
