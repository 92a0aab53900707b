"""Out, in and out again: the same bytes."""

import csv
import tempfile
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from lots import csvbook
from lots.ledger.audit import audit
from lots.models import Lot, Move, Stage, StrikeCheck
from tests.lots import books, mangling
from tests.lots.random_books import random_books

pytestmark = pytest.mark.django_db


def test_a_book_with_every_table_and_odd_text_comes_back_the_same(tmp_path):
    with books.passing():
        assert books.bring_in(books.write(tmp_path / "hand")).faults == []
        csvbook.export(tmp_path / "out")
    report = books.bring_in(tmp_path / "out")
    assert report.faults == []
    assert sum(report.added.values()) == sum(len(lines) - 1 for lines in books.BOOK.values())
    assert audit().faults == []
    csvbook.export(tmp_path / "again")
    assert books.read(tmp_path / "out") == books.read(tmp_path / "again")
    assert set(books.read(tmp_path / "out")) == {f"{name}.csv" for name in books.BOOK}


def test_an_import_takes_its_own_export_back_and_adds_nothing(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))
    csvbook.export(tmp_path / "out")
    report = books.bring_in(tmp_path / "out")
    assert report.faults == []
    assert report.added == {}
    assert sum(report.already.values()) == sum(len(lines) - 1 for lines in books.BOOK.values())


def test_records_without_uuid_are_known_for_the_same_the_second_time(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))
    lines = [
        "lot,observed_at,by,looked_at,rooted,whole_lot",
        "7k3 qfy,2026-03-20T11:00:00Z,ana,5,2,no",
        "7K3-QFY,2026-03-20T11:00:00Z,ana,5,2,no",
    ]
    more = books.write(tmp_path / "more", checks=lines)
    assert books.bring_in(more).added == {"checks": 2}
    assert books.bring_in(more).already == {"checks": 2}
    assert StrikeCheck.objects.count() == 5


def test_what_the_columns_do_not_say_comes_back_all_the_same(tmp_path):
    """Lots never stuck, the order of the lines of a session, moves of one moment."""
    book = dict(books.BOOK)
    at = books.AT.format(26)
    book["moves"] = [
        book["moves"][0],
        f"ffffffff-0000-4000-8000-000000000001,7K3QFY,{at},ana,A1,",
        f"00000000-0000-4000-8000-000000000001,7K3QFY,{at},ana,@B2,",
    ]
    book["checks"] = book["checks"][:1]
    with books.passing():
        books.bring_in(books.write(tmp_path / "hand", **book))
        csvbook.export(tmp_path / "out")
    books.bring_in(tmp_path / "out")
    assert Lot.objects.get(code="2M4PVH").stage == Stage.NOT_STUCK
    in_session = Lot.objects.filter(session__code="S1").order_by("line")
    assert [lot.code for lot in in_session] == ["7K3QFY", "9XYZAH", "2M4PVH"]
    assert Lot.objects.get(code="7K3QFY").place.name == "@B2"
    assert Move.objects.count() == 2


def test_a_file_of_before_moves_said_what_is_the_same_file(tmp_path):
    """Without numbers of their own, its rows are known again by what they say."""
    before = ["lot,observed_at,by,place", f"7K3QFY,{books.AT.format(26)},ana,A1"]
    now = ["lot,observed_at,by,place,what", *(f"{before[1]},{what}" for what in ("", "pots"))]
    book = books.BOOK | {"moves": before}
    books.bring_in(books.write(tmp_path / "before", **book))
    assert books.bring_in(books.write(tmp_path / "now", moves=now)).added == {"moves": 1}
    assert list(Move.objects.order_by("pk").values_list("what", flat=True)) == ["all", "pots"]
    csvbook.export(tmp_path / "out")
    lines = (tmp_path / "out/moves.csv").read_text().splitlines()
    whats = [row["what"] for row in csv.DictReader(lines)]
    assert sorted(whats) == ["", "pots"]


@settings(max_examples=15, deadline=None)
@given(random_books(), st.sampled_from(["UTC", "Europe/Lisbon", "Asia/Kathmandu"]))
def test_random_books_come_back_the_same(book, zone):
    with timezone.override(ZoneInfo(zone)), tempfile.TemporaryDirectory() as scratch:
        first, second = Path(scratch, "1"), Path(scratch, "2")
        with books.passing():
            files = [(f"{name}.csv", mangling.shielded(table)) for name, table in book.items()]
            report = csvbook.import_files(files)
            assert report.faults == []
            assert audit().faults == []
            csvbook.export(first)
            assert books.bring_in(first).added == {}
        with books.passing():
            assert books.bring_in(first).added == report.added
            csvbook.export(second)
        assert books.read(first) == books.read(second)
