"""The whole book as CSV files."""

import csv
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from lots.csvbook.cells import shield, shown
from lots.csvbook.columns import TABLES
from lots.csvbook.table import Table
from lots.snapshot import snapshot

BATCH = 2000


def export(folder: Path, progress: Callable[[str, int], None] = lambda _name, _rows: None) -> None:
    """Write every table of the book into the folder, as it stands at one moment.

    UTF-8, a header row, commas; the same book gives the same bytes. Each file appears whole or
    not at all. `progress` is told the file and its number of rows.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with snapshot():
        for table in TABLES.values():
            path = folder / f"{table.name}.csv"
            unfinished = path.with_suffix(".csv.part")
            with unfinished.open("w", encoding="utf-8", newline="") as file:
                count = _write(table, file)
                file.flush()
                os.fsync(file.fileno())
            unfinished.replace(path)
            progress(path.name, count)


def _write(table: Table, file) -> int:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(table.by_name)
    count = 0
    for count, cells in enumerate(rows(table), start=1):  # noqa: B007
        writer.writerow(shield(cell) for cell in cells)
    return count


def rows(table: Table) -> Iterator[list[str]]:
    """The cells of every row of a table, in the order of an export."""
    stored = table.rows.values_list(*table.paths, *table.order)
    if table.record:
        ordered: Iterable = stored.order_by(*table.order).iterator(BATCH)
    else:
        # Sorted here, since databases differ in how they sort texts.
        ordered = sorted(stored, key=lambda values: _sortable(values[len(table.columns) :]))
    for values in ordered:
        yield [
            shown(column.kind, value) for column, value in zip(table.columns, values, strict=False)
        ]


def _sortable(values: Iterable) -> list:
    """A sort key in which nothing comes before everything."""
    return [(value is not None, value) for value in values]
