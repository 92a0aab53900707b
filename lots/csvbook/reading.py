"""From files to rows of text. A table is a CSV file or a sheet of an XLSX workbook.

Files come from strangers' spreadsheets: what is no table, or too large to be one, is refused
before it is read.
"""

import csv
import io
import zipfile
import zlib
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import BinaryIO

from django.utils.translation import gettext as _

from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults

# A book of 50,000 lots with ten records each stays below these.
MOST_CSV_BYTES = 80_000_000
MOST_XLSX_BYTES = 30_000_000
MOST_UNPACKED_BYTES = 300_000_000
MOST_SHEET_ROWS = 1_048_576  # as many as a sheet has
MOST_CELLS = 15_000_000
MOST_STRINGS = 2_000_000  # that the cells of a workbook share: all of them are held in memory
STRINGS = "sharedstrings.xml"
PIECE = 1 << 20  # bytes looked through at once
DELIMITERS = ",;\t"
# What `zipfile` raises for what is none, or is damaged or made to mislead.
BROKEN_ZIP = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
)
UTF_16 = (b"\xff\xfe", b"\xfe\xff")


class NoFiles(Exception):
    """There is nothing to read at the place that was given."""


class Unreadable(Exception):
    """The file can't be read on; `row` is where that is known."""

    def __init__(self, says: str, row: int | None = None) -> None:
        super().__init__(says)
        self.row = row


@dataclass(frozen=True)
class Source:
    """One table's text: `rows` yields the row as a spreadsheet counts, and its cells."""

    file: str
    table: str
    rows: Generator[tuple[int, list[str]]]


def find(paths: Iterable[str | Path]) -> list[tuple[str, Path]]:
    """The files to import, each with its name; a folder stands for all files in it that have a
    table's name. Raises NoFiles."""
    found: list[tuple[str, Path]] = []
    for path in map(Path, paths):
        if path.is_dir():
            inside = [path / f"{name}.csv" for name in TABLES if (path / f"{name}.csv").is_file()]
            if not inside:
                raise NoFiles(
                    _("The folder %(folder)s holds none of the files %(names)s.")
                    % {"folder": path, "names": ", ".join(f"{name}.csv" for name in TABLES)}
                )
            found.extend((file.name, file) for file in inside)
        elif path.is_file():
            found.append((path.name, path))
        else:
            raise NoFiles(_("There is no file %(path)s.") % {"path": path})
    return found


def sources(name: str, file: BinaryIO, faults: Faults) -> Iterator[Source]:
    """The tables in a file: one of a CSV file, one a sheet of a workbook."""
    stem, _dot, ending = name.lower().rpartition(".")
    try:
        if ending == "xlsx":
            yield from _sheets(name, file, faults)
        elif ending == "csv" and stem in TABLES:
            yield Source(name, stem, _csv_rows(file))
        else:
            faults.add(
                name,
                None,
                None,
                _("no table has this name; known are %(names)s, and workbooks (.xlsx)")
                % {"names": ", ".join(f"{table}.csv" for table in TABLES)},
            )
    except Unreadable as fault:
        faults.add(name, fault.row, None, fault)


def _size(file: BinaryIO) -> int:
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    return size


def _check_size(file: BinaryIO, most: int) -> None:
    if (size := _size(file)) > most:
        raise Unreadable(
            _("%(size)s MB are too many; split it into files of at most %(most)s MB")
            % {"size": size // 1_000_000, "most": most // 1_000_000}
        )


def _csv_rows(file: BinaryIO) -> Generator[tuple[int, list[str]]]:
    _check_size(file, MOST_CSV_BYTES)
    start = file.read(64_000)
    file.seek(0)
    if b"\0" in start or start.startswith(UTF_16):
        raise Unreadable(_("this is no text file; save it as “CSV UTF-8”"))
    # A byte that is no UTF-8 becomes a lone surrogate here, and a fault of its cell later.
    text = io.TextIOWrapper(file, "utf-8-sig", errors="surrogateescape", newline="")
    number = 0
    try:
        rows = csv.reader(text, delimiter=_delimiter(start), strict=True)
        for number, cells in enumerate(rows, start=1):
            yield number, cells
    except csv.Error as fault:
        raise Unreadable(
            _(
                "the quotation marks don't pair up; a cell with a quotation mark, a line break or "
                "a separator in it stands in double quotes, and quotes in it are doubled"
            ),
            number + 1,
        ) from fault
    finally:
        text.detach()


def _delimiter(start: bytes) -> str:
    """Of comma, semicolon and tab the one that stands most often in the first line with text."""
    lines = start.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "replace").splitlines()
    header = next((line for line in lines if line.strip(" " + DELIMITERS)), "")
    return max(DELIMITERS, key=header.count)


def _sheets(name: str, file: BinaryIO, faults: Faults) -> Iterator[Source]:
    import openpyxl  # here, because it takes a while to load and most imports don't need it

    _check_size(file, MOST_XLSX_BYTES)
    _check_inside(file)
    try:
        book = openpyxl.load_workbook(file, read_only=True, data_only=True, keep_links=False)
    except Exception as fault:  # whatever a broken workbook makes the library raise
        raise Unreadable(_("this is no XLSX workbook, or a damaged one")) from fault
    try:
        for sheet in book.worksheets:
            title = sheet.title.strip().lower()
            label = _("%(file)s, sheet %(sheet)s") % {"file": name, "sheet": sheet.title}
            rows = _sheet_rows(sheet)
            if title in TABLES:
                yield Source(label, title, rows)
            elif any(any(cells) for _number, cells in rows):
                faults.add(
                    label,
                    None,
                    None,
                    _("no table has this name; known are %(names)s") % {"names": ", ".join(TABLES)},
                )
    finally:
        book.close()


def _check_inside(file: BinaryIO) -> None:
    """Refuse what unpacks to more than any book: a workbook is a zip file, and a zip file can
    unpack to a million times its size. (Reading stops at the size that the directory states.) And
    one of more cells or texts, before any of it is made of them: they are counted where they
    begin, as the bytes come out."""
    cells = strings = 0
    try:
        with zipfile.ZipFile(file) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
            if unpacked > MOST_UNPACKED_BYTES:
                raise Unreadable(
                    _("it unpacks to %(size)s MB, and at most %(most)s MB are read")
                    % {"size": unpacked // 1_000_000, "most": MOST_UNPACKED_BYTES // 1_000_000}
                )
            for name in archive.namelist():
                if name.lower().endswith(STRINGS):
                    strings += _count(archive, name, b"<si>", b"<si ", b"<si/")
                elif name.startswith("xl/worksheets/"):
                    cells += _count(archive, name, b"<c ", b"<c>", b"<c/")
    except BROKEN_ZIP as fault:
        raise Unreadable(_("this is no XLSX workbook, or a damaged one")) from fault
    if cells > MOST_CELLS or strings > MOST_STRINGS:
        raise Unreadable(
            _(
                "it has %(cells)s million cells and %(strings)s million texts; at most %(most)s "
                "and %(least)s million are read"
            )
            % {
                "cells": cells // 1_000_000,
                "strings": strings // 1_000_000,
                "most": MOST_CELLS // 1_000_000,
                "least": MOST_STRINGS // 1_000_000,
            }
        )
    file.seek(0)


def _count(archive: zipfile.ZipFile, name: str, *beginnings: bytes) -> int:
    """How often a part of a workbook has one of these, all of one length."""
    kept, found = b"", 0
    with archive.open(name) as part:
        while piece := part.read(PIECE):
            piece = kept + piece
            found += sum(map(piece.count, beginnings))
            kept = piece[1 - len(beginnings[0]) :]
    return found


def _sheet_rows(sheet) -> Generator[tuple[int, list[str]]]:
    number = 0
    try:
        sheet.reset_dimensions()  # what a sheet says of its own size may be wrong
        for number, values in enumerate(sheet.iter_rows(values_only=True), start=1):
            if number > MOST_SHEET_ROWS:
                raise Unreadable(_("a sheet can't have so many rows"), number)
            yield number, [_as_text(value) for value in values]
    except Unreadable:
        raise
    except Exception as fault:  # whatever a broken sheet makes the library raise
        raise Unreadable(_("the sheet is damaged from here on"), number + 1) from fault


def _as_text(value: object) -> str:
    """A cell of a sheet as a CSV file would have it."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float() if value.is_integer() and abs(value) < 1e15:
            return str(int(value))
        case datetime() if not any((value.hour, value.minute, value.second, value.microsecond)):
            return value.date().isoformat()
        case datetime() | date():
            return value.isoformat()
        case _:
            return str(value)
