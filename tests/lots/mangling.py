"""Files as they should never arrive: the hand-made book, mangled at random but repeatably."""

import csv
import io
import random
import zipfile

from lots.csvbook.cells import shield
from tests.lots import books

NASTY = [
    "", " ", "0", "1", "-1", "1e9", "2147483648", "9" * 40, "1,5", "1.000", "NaN", "yes", "TRUE",
    "2026-02-30", "3/7/2026", "46083", "2026-03-02T10:00", "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00", "2026-03-20T10:00:00+00:00", "2099-01-01T00:00:00Z", "7K3QFY",
    "7K3QFZ", "9XYZAH", "0B1CDF", "ana", "A1", "@B2", "V1", "P1", "S1", "cell", "pot", "rot",
    "=1+1", "'=1+1", "''", '"', "\u202e", "e\u0301", "😀" * 30, "a" * 400, "\x85", "\x1c", "\n",
]  # fmt: skip
PIECES = [
    b",",
    b";",
    b"\t",
    b'"',
    b"\n",
    b"\r",
    b"\0",
    b"\xff",
    b"\xef\xbb\xbf",
    b"'",
    b"=",
    b"\xc3",
]


def mangle_bytes(content: bytes, chance: random.Random) -> bytes:
    """A few cuts, copies, swaps and strange bytes."""
    for _time in range(chance.randint(1, 4)):
        start, end = sorted(chance.randrange(len(content) + 1) for _side in "ab")
        end = min(end, start + chance.choice([1, 8, 200]))
        piece = content[start:end]
        content = chance.choice(
            [
                content[:start] + content[end:],
                content[:end] + piece + content[end:],
                content[:start] + chance.choice(PIECES) + content[start:],
                content[:start] + bytes(chance.randrange(256) for _byte in piece) + content[end:],
                content[:start] + piece[::-1] + content[end:],
                content[:start],
            ]
        )
    return content


def mangle_cells(table: list[list[str]], chance: random.Random) -> list[list[str]]:
    """A table with some cells, rows or columns changed."""
    table = [list(row) for row in table]
    for _time in range(chance.choice([1, 1, 2, 3])):
        number = chance.randrange(len(table))
        row = table[number]
        match chance.randrange(8):
            case 0:
                table.insert(number, list(row))
            case 1 if len(table) > 1:
                del table[number]
            case 2:
                other = chance.randrange(len(table))
                table[number], table[other] = table[other], table[number]
            case 3 if row:
                del row[chance.randrange(len(row))]
            case _ if row:
                row[chance.randrange(len(row))] = chance.choice(NASTY)
    return table


def as_csv(table: list[list[str]], delimiter: str = ",") -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=delimiter).writerows(table)
    return file.getvalue().encode("utf-8", "surrogatepass")


def mangled_csv(chance: random.Random) -> tuple[str, bytes]:
    """One file: a table of the book with strange cells, or strange bytes, or both."""
    name, table = chance.choice(list(books.tables().items()))
    content = as_csv(mangle_cells(table, chance), chance.choice(",;\t"))
    if chance.random() < 0.5:
        content = mangle_bytes(content, chance)
    return f"{name}.csv", content


def mangled_book(chance: random.Random) -> list[tuple[str, bytes]]:
    """All files of the book, with some cells changed in one of them."""
    tables = books.tables()
    name = chance.choice(list(tables))
    tables[name] = mangle_cells(tables[name], chance)
    return [(f"{name}.csv", as_csv(table)) for name, table in tables.items()]


def mangled_workbook(workbook: bytes, chance: random.Random) -> tuple[str, bytes]:
    """A workbook with strange bytes in one of its parts, or in the zip file itself."""
    if chance.random() < 0.3:
        return "book.xlsx", mangle_bytes(workbook, chance)
    with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = chance.choice(list(parts))
    parts[name] = mangle_bytes(parts[name], chance)
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        for each, part in parts.items():
            archive.writestr(each, part)
    return "book.xlsx", content.getvalue()


def shielded(table: list[list[str]]) -> io.BytesIO:
    """A table as a file whose cells no spreadsheet takes for formulas."""
    return io.BytesIO(as_csv([[shield(cell) for cell in row] for row in table]))
