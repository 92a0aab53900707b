"""What spreadsheets do to files: byte order marks, separators, line ends, blank lines, spaces;
and workbooks."""

import io
import tracemalloc
import zipfile
from datetime import date, datetime

import openpyxl
import pytest

from lots import csvbook
from lots.csvbook import reading
from lots.csvbook.cells import shield
from lots.models import Place, StickingSession
from tests.lots import books

pytestmark = pytest.mark.django_db

PLAIN = "place,walk_order\nA1,1\nB 2,22\n"


def bring_in(name: str, content: bytes) -> csvbook.Report:
    return csvbook.import_files([(name, io.BytesIO(content))])


def says(report: csvbook.Report) -> list[str]:
    return [str(fault) for fault in report.faults]


HABITS = {
    "a byte order mark": PLAIN.encode("utf-8-sig"),
    "semicolons": PLAIN.replace(",", ";").encode(),
    "tabs": PLAIN.replace(",", "\t").encode(),
    "carriage returns": PLAIN.replace("\n", "\r\n").encode(),
    "carriage returns alone": PLAIN.replace("\n", "\r").encode(),
    "blank lines": PLAIN.replace("\n", "\n\n").encode() + b"\n,\n  \n",
    "spaces at the ends": PLAIN.replace(",", " , ").replace("\n", "  \n").encode(),
    "no line end at the end": PLAIN.strip().encode(),
    "everything quoted": PLAIN.replace("\n", '"\n"').replace(",", '","').encode()[:-1].replace(
        b"place", b'"place', 1
    ),
    "capital headings": PLAIN.replace("place", "Place").encode(),
    "another order of columns": b"walk_order,place\n1,A1\n22,B 2\n",
    "separators at the ends": PLAIN.replace("\n", ",,\n").encode(),
}  # fmt: skip


@pytest.mark.parametrize("content", HABITS.values(), ids=HABITS)
def test_a_habit_of_spreadsheets_is_met(content):
    assert says(bring_in("places.csv", content)) == []
    assert list(Place.objects.values_list("name", "walk_order")) == [("A1", 1), ("B 2", 22)]


def test_a_letter_that_is_not_utf8_is_named_in_its_cell():
    content = "place,walk_order\nA1,1\nBänk,2\n".encode("cp1252")
    (fault,) = says(bring_in("places.csv", content))
    assert fault.startswith("places.csv, row 3, column place: a letter here is not in UTF-8; save")


def test_rows_count_as_a_spreadsheet_counts_them():
    lines = ["code,group,genus,hybrid,protected,note", 'V1,g,G,no,no,"two', 'lines"', "", ",,,,,x"]
    content = "\n".join(lines).encode()
    assert {fault.row for fault in bring_in("varieties.csv", content).faults} == {2, 4}


def as_workbook() -> bytes:
    """The hand-made book as a workbook: numbers as numbers, days as days."""
    book = openpyxl.Workbook()
    book.active.title = "Sheet1"
    for name, table in books.tables().items():
        sheet = book.create_sheet(name)
        for cells in table:
            sheet.append([typed(cell) for cell in cells])
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def typed(cell: str) -> object:
    if cell.isascii() and cell.isdigit():
        return int(cell)
    try:
        if "W" in cell:  # an ISO week, which spreadsheets leave as it is typed
            raise ValueError
        return date.fromisoformat(cell)
    except ValueError:
        # What begins with “=” would be a formula in a workbook.
        return shield(cell) if cell.startswith("=") else cell or None


def test_a_workbook_gives_the_same_book_as_csv_files(tmp_path):
    assert says(bring_in("book.xlsx", as_workbook())) == []
    report = books.bring_in(books.write(tmp_path / "csv"))
    assert report.good
    assert report.added == {}
    assert sum(report.already.values()) == sum(len(lines) - 1 for lines in books.BOOK.values())


def sheet_of(title: str, *rows: list) -> bytes:
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def test_a_real_date_cell_is_a_day_and_a_bare_number_is_not():
    header = ["session", "day"]
    good = sheet_of("Sessions", header, ["S1", date(2026, 3, 2)], ["S2", MIDNIGHT])
    assert says(bring_in("book.xlsx", good)) == []
    days = StickingSession.objects.order_by("code").values_list("day", flat=True)
    assert list(days) == [date(2026, 3, 2), date(2026, 3, 3)]
    (fault,) = says(bring_in("book.xlsx", sheet_of("sessions", header, ["S3", 46083])))
    assert fault.startswith("book.xlsx, sheet sessions, row 2, column day: “46083” is a spread")


def test_rows_of_a_sheet_count_as_it_counts_them():
    sheet = sheet_of("places", [], ["place", "walk_order"], [], [], ["A1", "x"])
    assert [fault.row for fault in bring_in("book.xlsx", sheet).faults] == [5]


def test_a_sheet_of_no_known_name_is_a_fault_unless_it_is_empty():
    (fault,) = says(bring_in("book.xlsx", sheet_of("variety", ["code"])))
    assert fault.startswith("book.xlsx, sheet variety: no table has this name; known are crops, ")
    assert says(bring_in("book.xlsx", sheet_of("Sheet2"))) == []


def zipped(**parts: bytes) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return content.getvalue()


def with_part(workbook: bytes, name: str, part: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
        parts = {each: archive.read(each) for each in archive.namelist()}
    return zipped(**parts | {name: part})


PLACES = sheet_of("places", ["place", "walk_order"], ["A1", 1])
MIDNIGHT = datetime(2026, 3, 3)  # noqa: DTZ001 - a workbook knows of no offsets
SHEET = "xl/worksheets/sheet1.xml"
SHEET_XML = zipfile.ZipFile(io.BytesIO(PLACES)).read(SHEET)
LAUGHS = b"".join(b'<!ENTITY l%d "%s">' % (n, b"&l%d;" % (n - 1) * 10) for n in range(1, 10))
BAD = {
    "a zip bomb": ("b.xlsx", lambda: zipped(**{SHEET: bytes(400_000_000)}), "it unpacks to 400 MB"),
    "a zip of something else": ("b.xlsx", lambda: zipped(a=b"b"), "this is no XLSX workbook"),
    "a broken workbook": ("b.xlsx", lambda: PLACES[:3000], "this is no XLSX workbook"),
    "a sheet that breaks off": (
        "b.xlsx",
        lambda: with_part(PLACES, SHEET, SHEET_XML[: SHEET_XML.index(b'<row r="2"') + 4]),
        "the sheet is damaged from here on",
    ),
    "entities that multiply": (
        "b.xlsx",
        lambda: with_part(
            PLACES,
            SHEET,
            b'<!DOCTYPE w [<!ENTITY l0 "ha">' + LAUGHS + b"]><worksheet>&l9;</worksheet>",
        ),
        "this is no XLSX workbook",
    ),
    "a row far away": (
        "b.xlsx",
        lambda: with_part(
            PLACES,
            SHEET,
            SHEET_XML.replace(b'<row r="2"', b'<row r="999999999999"'),
        ),
        "a sheet can't have so many rows",
    ),
    "zeros as a workbook": ("b.xlsx", lambda: bytes(1000), "this is no XLSX workbook"),
    "zeros as text": ("places.csv", lambda: bytes(1_000_000), "this is no text file"),
    "another encoding": ("places.csv", lambda: PLAIN.encode("utf-16"), "this is no text file"),
    "a workbook named .csv": ("places.csv", lambda: PLACES, "this is no text file"),
    "a cell without an end": (
        "places.csv",
        lambda: b'place,walk_order\n"' + b"a" * 1_000_000,
        "the quotation marks don't pair up",
    ),
    "nothing": ("places.csv", lambda: b"", "the header row is missing"),
}


@pytest.mark.parametrize(("name", "make", "expected"), BAD.values(), ids=BAD)
def test_what_is_no_table_is_refused(name, make, expected):
    (fault,) = says(bring_in(name, make()))
    assert expected in fault
    assert not Place.objects.exists()


@pytest.mark.parametrize("name", ["places.csv", "places.xlsx"])
def test_a_file_of_100_mb_is_refused_at_once(tmp_path, name):
    path = tmp_path / name
    with path.open("wb") as file:
        file.truncate(100_000_000)
    tracemalloc.start()
    (fault,) = says(books.bring_in(path))
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 10_000_000, "its content is not read"
    assert "100 MB are too many; split it into files of at most" in fault


@pytest.mark.parametrize("limit", ["MOST_CELLS", "MOST_STRINGS"])
def test_a_workbook_of_too_much_is_refused_before_it_is_parsed(monkeypatch, limit):
    texts = b"<sst>" + b"<si><t>leaf</t></si>" * 11 + b"</sst>"
    workbook = with_part(as_workbook(), "xl/sharedStrings.xml", texts)
    monkeypatch.setattr(openpyxl, "load_workbook", None)  # it isn't asked
    monkeypatch.setattr(reading, limit, 10)
    [told] = says(bring_in("book.xlsx", workbook))
    assert "million cells" in told


def test_cells_are_counted_where_a_piece_of_the_file_ends_in_one(monkeypatch):
    part = b"<sheetData><row><c r='A1'/><c><v>1</v></c><c/></row><cols/></sheetData>"
    for size in (1, 2, 3, 4, 7, 1000):
        monkeypatch.setattr(reading, "PIECE", size)
        with zipfile.ZipFile(io.BytesIO(zipped(sheet=part))) as archive:
            assert reading._count(archive, "sheet", b"<c ", b"<c>", b"<c/") == 3
