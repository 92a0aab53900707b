"""Thousands of mangled files: a clear fault or an import, never a traceback or half an import."""

import io
import random

import pytest

from lots import csvbook
from lots.csvbook.faults import Faults
from lots.csvbook.importing import gather
from lots.ledger.audit import audit
from lots.models import CropGroup, Flat, Lot, Place, StrikeCheck
from tests.lots import books, mangling
from tests.lots.csvbook.test_habits import as_workbook


def read(name: str, content: bytes) -> None:
    """Read a file as an import does, before the database is asked."""
    faults = Faults()
    rows = gather([(name, io.BytesIO(content))], faults)
    assert faults.count >= len(faults.kept)
    assert all(fault.says and fault.file in str(fault) for fault in faults.kept)
    assert faults or rows


@pytest.mark.parametrize("part", range(10))
def test_a_mangled_csv_file_is_read_or_its_faults_are_told(part):
    for number in range(950):
        read(*mangling.mangled_csv(random.Random(f"csv {part} {number}")))


@pytest.mark.parametrize("part", range(2))
def test_a_mangled_workbook_is_read_or_its_faults_are_told(part):
    workbook = as_workbook()
    for number in range(75):
        read(*mangling.mangled_workbook(workbook, random.Random(f"xlsx {part} {number}")))


@pytest.mark.django_db
@pytest.mark.parametrize("part", range(4))
def test_a_mangled_book_comes_in_whole_or_not_at_all(part):
    outcomes = set()
    for number in range(30):
        files = mangling.mangled_book(random.Random(f"book {part} {number}"))
        with books.passing():
            report = csvbook.import_files((name, io.BytesIO(text)) for name, text in files)
            outcomes.add(report.good)
            if report.good:
                assert audit().faults == []
                assert Lot.objects.count() == report.added["lots"]
            else:
                for model in (CropGroup, Place, Flat, Lot, StrikeCheck):
                    assert not model.objects.exists()
    assert outcomes == {True, False}
