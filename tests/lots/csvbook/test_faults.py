"""Every fault of a file is named with row, column and what would be right; nothing is imported."""

import pytest

from lots.models import Lot, Variety
from tests.lots import books
from tests.lots.books import faults_of

pytestmark = pytest.mark.django_db

ROW = "9XYZBF,V1,tip,5,1,,,"
CHECKS = "lot,observed_at,by,looked_at,rooted,showing,whole_lot"
AT = books.AT.format(20)


@pytest.fixture
def book(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))


# A table, its lines, and the one fault they have.
ONE_FAULT = [
    (
        "places",
        ["place,walk_order,colour", "C1,3,red"],
        "row 1, column colour: unknown column; the columns are place, walk_order",
    ),
    (
        "places",
        ["place", "C1"],
        "row 1, column walk_order: this column is missing",
    ),
    (
        "places",
        ["place,walk_order,place", "C1,3,C1"],
        "row 1, column place: this column is there twice",
    ),
    (
        "places",
        [""],
        "row 1: the header row is missing: place, walk_order",
    ),
    (
        "places",
        ["place,walk_order", "C1,1", "", "C1,2"],
        "row 4, column place: C1 stands already in row 2 of places.csv",
    ),
    (
        "places",
        ["place,walk_order", "C1,"],
        "row 2, column walk_order: this cell may not be empty",
    ),
    (
        "places",
        ["place,walk_order", "C1,1,x"],
        "row 2: “x” stands in a column without a name; is a separator too many?",
    ),
    (
        "places",
        ["place,walk_order", "C1,1.200"],
        "row 2, column walk_order: “1.200” has a thousands separator; write 1200",
    ),
    (
        "places",
        ["place;walk_order", "C1;12,0"],
        "row 2, column walk_order: “12,0” has decimals; write 12",
    ),
    (
        "places",
        ["place,walk_order", "C1,-3"],
        ("row 2, column walk_order: “-3” is no whole number; write digits only, like 48"),
    ),
    (
        "places",
        ["place,walk_order", "C1,99999999999"],
        (
            "row 2, column walk_order: 99999999999 is out of range: a whole number from 0 "
            "to 2147483647"
        ),
    ),
    (
        "places",
        ["place,walk_order", '"C1,3', "C2,4"],
        (
            "row 2: the quotation marks don't pair up; a cell with a quotation mark, a "
            "line break or a separator in it stands in double quotes, and quotes in it "
            "are doubled"
        ),
    ),
    (
        "potsizes",
        ["pot_size;diameter_cm;pieces_per_pot;least_struck", "9 cm;9,5;1;1"],
        "row 2, column diameter_cm: “9,5” has a decimal comma; write 9.5",
    ),
    (
        "potsizes",
        ["pot_size,diameter_cm,pieces_per_pot,least_struck", "9 cm,9,2,3"],
        "row 2, column least_struck: no more can have to strike than the 2 of a pot",
    ),
    (
        "sessions",
        ["session,day", "S9,3/7/2026"],
        ("row 2, column day: “3/7/2026” can be read two ways; write 2026-07-03 or 2026-03-07"),
    ),
    (
        "sessions",
        ["session,day", "S9,31.7.2026"],
        ("row 2, column day: “31.7.2026” is not how dates are written here; write 2026-07-31"),
    ),
    (
        "sessions",
        ["session,day", "S9,46083"],
        (
            "row 2, column day: “46083” is a spreadsheet's own number for a day; format "
            "the column as YYYY-MM-DD before saving (it may mean 2026-03-02)"
        ),
    ),
    (
        "sessions",
        ["session,day", "S9,2026-02-30"],
        ("row 2, column day: “2026-02-30” is no day; write one as YYYY-MM-DD, like 2026-03-02"),
    ),
    (
        "sessions",
        ["session,day", "S9,2026-02-20T10:00"],
        (
            "row 2, column day: “2026-02-20T10:00” has a time of day; write the day "
            "alone, like 2026-03-02"
        ),
    ),
    (
        "methods",
        ["method,source_part,needs_shoot", "wedge,petal,yes"],
        ("row 2, column source_part: “petal” is none of these: leaf, stem, rhizome, crown, root"),
    ),
    (
        "methods",
        ["method,source_part,needs_shoot", "wedge,leaf,maybe"],
        "row 2, column needs_shoot: “maybe” is neither yes nor no",
    ),
    (
        "people",
        ["username,name,initials,role", "eve,Eve,TOOLONG,grower"],
        "row 2, column initials: 7 characters are too many; it may have 5",
    ),
    (
        "checks",
        [CHECKS, f"7K3QFZ,{AT},ana,5,2,,no"],
        ("row 2, column lot: “7K3QFZ” is a mistyped lot code: its check character doesn't fit"),
    ),
    (
        "checks",
        [CHECKS, f"7K3QF,{AT},ana,5,2,,no"],
        ("row 2, column lot: “7K3QF” is no lot code: one has 6 letters and digits, like 7K3-QFY"),
    ),
    (
        "checks",
        [CHECKS, "7K3QFY,2026-03-20T10:00:00,ana,5,2,,no"],
        (
            "row 2, column observed_at: “2026-03-20T10:00:00” doesn't say how far from "
            "UTC the clock was; write 2026-03-20T10:00:00+00:00 if it was the nursery's "
            "time"
        ),
    ),
    (
        "checks",
        [CHECKS, "7K3QFY,yesterday,ana,5,2,,no"],
        (
            "row 2, column observed_at: “yesterday” is no moment; write one like "
            "2026-03-02T14:30:00+00:00"
        ),
    ),
    (
        "checks",
        [CHECKS, f"7K3QFY,{AT},ana,5,6,,no"],
        "row 2, column rooted: no more than the 5 that were looked at",
    ),
    (
        "checks",
        [CHECKS, f"7K3QFY,{AT},ana,5,2,9,no"],
        "row 2, column showing: no more than the 5 that were looked at",
    ),
    (
        "potups",
        ["lot,observed_at,by,units,pots,pot_size", f"7K3QFY,{AT},ana,2,3,7 cm"],
        "row 2, column pots: 2 units give at most as many pots",
    ),
    (
        "stockplants",
        ["code,variety,origin,from_lot,since,health", "P3,V1,gift,7K3QFY,2026-01-01,sound"],
        ("row 2, column from_lot: only a stock plant of origin “own” names the lot it came from"),
    ),
    (
        "moves",
        ["lot,observed_at,by,place,what", f"7K3QFY,{AT},ana,A1,flat"],
        "row 2, column what: “flat” is none of these: cells, pots, all",
    ),
    (
        "moves",
        ["uuid,lot,observed_at,by,place", f"first,7K3QFY,{AT},ana,A1"],
        ("row 2, column uuid: “first” is no UUID; leave the cell empty to have one made"),
    ),
]


@pytest.mark.parametrize(("table", "lines", "fault"), ONE_FAULT, ids=range(len(ONE_FAULT)))
def test_a_fault_is_named_with_its_place_and_what_would_be_right(
    book, tmp_path, table, lines, fault
):
    assert faults_of(tmp_path, **{table: lines}) == [f"{table}.csv, {fault}"]


def test_a_file_of_no_known_name_is_a_fault(tmp_path):
    path = tmp_path / "harvests.csv"
    path.write_text("a,b\n1,2\n")
    (fault,) = books.bring_in(path).faults
    assert str(fault).startswith("harvests.csv: no table has this name; known are crops.csv, ")


def test_all_faults_of_a_row_are_told_at_once(book, tmp_path):
    """Of its cells, of what it refers to, of what it says in itself, of what stands in the book."""
    table = {
        "varieties": [
            "code,group,genus,hybrid,protected,licence",
            "V8,nowhere,,maybe,no,",
            "V9,nowhere,Begonia,no,perhaps,",
        ],
        "lots": [
            LOTS,
            "9XYZBF,V7,nothing,many,5,2199-01-01,5,eve",
            "3M4PVM,V9,tip,8,0,,5,ana",
        ],
        "checks": [CHECKS, f"7K3QFY,{AT},eve,5,9,few,no", "7K3QFY,then,eve,900,2,,"],
    }
    told = faults_of(tmp_path, **table)
    assert [
        fault.partition(":")[0].replace(".csv, row", "").replace(",", "") for fault in told
    ] == [
        "varieties 2 column hybrid",
        "varieties 2 column genus",
        "varieties 3 column protected",
        "lots 2 column planned_units",
        "lots 3 column pieces_per_unit",
        "checks 2 column showing",
        "checks 3 column observed_at",
        "checks 3 column whole_lot",
        "varieties 2 column group",
        "varieties 3 column group",
        "lots 2 column variety",
        "lots 2 column method",
        "lots 2 column stuck_by",
        "lots 2 column stuck_on",
        "lots 3 column stuck_on",
        "lots 3 column stuck_by",
        "checks 2 column by",
        "checks 3 column by",
        "checks 2 column rooted",
    ]


def test_every_check_that_a_lot_cannot_have_is_told(book, tmp_path):
    checks = [f"7K3QFY,{AT},ana,{looked_at},2,,no" for looked_at in (500, 40, 600)]
    assert len(faults_of(tmp_path, checks=[CHECKS, *checks])) == 2


def test_a_file_that_cannot_be_read_makes_no_faults_of_what_refers_to_it(book, tmp_path):
    told = faults_of(
        tmp_path, sessions=["session,date", "S9,2026-02-20"], lots=[LOTS + ",session", ROW + ",S9"]
    )
    assert [fault.partition(":")[0] for fault in told] == [
        "sessions.csv, row 1, column date",
        "sessions.csv, row 1, column day",
    ]


LATE = f"{CHECKS},voided_why,recorded_at,voided_at,voided_by"
LATE_FAULTS = [
    (",2199-01-01T00:00:00Z,,", "recorded_at: 1 Jan 2199, "),
    (",2026-03-01T00:00:00Z,,", "recorded_at: nothing is recorded before it is seen; see obs"),
    (",,2026-03-21T00:00:00Z,", "voided_at: a record is voided with a reason: write it in voided"),
    (",,,bo", "voided_by: a record is voided with a reason: write it in voided_why"),
    ("slip,,2199-01-01T00:00:00Z,", "voided_at: 1 Jan 2199, "),
    ("slip,,,eve", "voided_by: eve is neither in the book nor in people.csv"),
]


@pytest.mark.parametrize(("late", "says"), LATE_FAULTS, ids=range(len(LATE_FAULTS)))
def test_when_a_record_was_recorded_and_voided_is_possible(book, tmp_path, late, says):
    [fault] = faults_of(tmp_path, checks=[LATE, f"7K3QFY,{AT},ana,5,2,,no,{late}"])
    assert fault.startswith(f"checks.csv, row 2, column {says}")


TRIALS, ARMS = (books.BOOK[name][0] for name in ("trials", "arms"))
STOCK = books.BOOK["labelstocks"]
OTHER_FAULTS = [
    (
        {"trials": [TRIALS, "T9,S1,why,V1,77,6,AB C"], "arms": [ARMS, "T9,A,tip,,", "T9,B,tip,,"]},
        "trials.csv, row 2, column cells: “AB C” is no drawing like ABBA BAAB",
    ),
    (
        {"trials": [TRIALS, "T9,S1,why,V1,77,6,AB"], "arms": [ARMS, "T9,A,tip,,"]},
        "trials.csv, row 2, column trial: its arm B is missing in arms.csv; a trial has the arms",
    ),
    (
        {"triallots": ["lot,trial,arm", "7K3QFY,T4,B"]},
        "triallots.csv, row 2, column arm: 7K3QFY is already in the book with “A”, and this says",
    ),
    (
        {"labelstocks": [STOCK[0], STOCK[1].replace("@our", "other").replace("25.4", "15.4", 1)]},
        "labelstocks.csv, row 2, column columns: The last column leaves the page at the right by",
    ),
    (
        {"printers": ["name,offset_x,offset_y,scale_percent", "home,0,0,1e2"]},
        "printers.csv, row 2, column scale_percent: “1e2” is no number; write one like 10.5",
    ),
    (
        {"refusals": [books.BOOK["refusals"][0], f"x,,{{,why,ana,{AT},,,"]},
        "refusals.csv, row 2, column sent: “{” is no JSON; leave it as it was exported",
    ),
]


@pytest.mark.parametrize(("tables", "says"), OTHER_FAULTS, ids=range(len(OTHER_FAULTS)))
def test_trials_labels_and_refusals_are_held_to_what_they_say(book, tmp_path, tables, says):
    [fault] = faults_of(tmp_path, **tables)
    assert fault.startswith(says)


LOTS = "code,variety,method,planned_units,pieces_per_unit,stuck_on,stuck_units,stuck_by"
LOT_FAULTS = [
    (",5,", "stuck_on: units were stuck, so write the day; or leave both cells empty"),
    (",,ana", "stuck_by: a lot that is planned was stuck by nobody yet"),
    ("2026-03-02,,ana", "stuck_units: how many units were stuck? write 1 or more"),
    ("2026-03-02,0,ana", "stuck_units: how many units were stuck? write 1 or more"),
    (
        "2199-01-01,5,ana",
        "stuck_on: 1 Jan 2199 has not come yet; a planned lot has no day here",
    ),
]


@pytest.mark.parametrize(("sticking", "fault"), LOT_FAULTS)
def test_a_lot_is_stuck_or_it_is_not(book, tmp_path, sticking, fault):
    lots = [LOTS, f"9XYZBF,V1,tip,5,1,{sticking}"]
    assert faults_of(tmp_path, lots=lots) == [f"lots.csv, row 2, column {fault}"]
    checks = [CHECKS, f"9XYZBF,{AT},ana,5,2,,no"]
    assert f"lots.csv, row 2, column {fault}" in faults_of(tmp_path, lots=lots, checks=checks)


def test_all_faults_are_told_and_nothing_is_imported(tmp_path):
    book = dict(books.BOOK)
    book["varieties"] = [*book["varieties"], "V9,no group,Begonia,,no,,,no,,"]
    book["checks"] = [*book["checks"], f",7K3QFY,{AT},ana,500,2,,no,,"]
    book["losses"] = [*book["losses"], f",7K3QFY,{AT},nobody,cell,1,rot,,"]
    assert [fault.partition(":")[0] for fault in faults_of(tmp_path, **book)] == [
        "varieties.csv, row 5, column group",
        "losses.csv, row 4, column by",
        "checks.csv, row 5, column looked_at",
        "checks.csv, row 3, column looked_at",  # of what the loss leaves
    ]
    assert not Variety.objects.exists()
    assert not Lot.objects.exists()
