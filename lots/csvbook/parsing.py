"""From rows of text to parsed rows: the header, then each cell by its kind."""

import uuid
from collections import Counter
from collections.abc import Callable
from contextlib import closing

from django.utils.translation import gettext as _

from lots.csvbook.cells import Wrong, short, shown, unshield
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.csvbook.reading import Source, Unreadable
from lots.csvbook.table import NOTHING, Column, Table

# Records without a uuid get one of their content, so that a file that is imported twice is
# known for the same records.
NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "strikebook:csv")
NOT_CONTENT = {"uuid", "voided_why", "recorded_at", "voided_at", "voided_by"}
EVERY = 1000


def parse(source: Source, faults: Faults, seen: Counter, progress: Callable[[int], None]) -> list:
    """The rows of a source that could be read, as the table's `row` type.

    Faults of its cells go to `faults`; `seen` counts equal records without a uuid, over all
    sources. `progress` is told the number of rows so far.
    """
    table = TABLES[source.table]
    rows: list = []
    with closing(source.rows):
        _parse(source, table, rows, faults, seen, progress)
    return rows


def _parse(source, table: Table, rows: list, faults: Faults, seen: Counter, progress) -> None:
    try:
        header = next(((number, cells) for number, cells in source.rows if any(cells)), None)
        columns = _header(source.file, table, header, faults)
        if columns is None:
            faults.unread.add(table.name)
            return
        for number, cells in source.rows:
            found = _values(source.file, table, columns, number, cells, faults)
            if found is not None:
                rows.append(_row(table, source.file, number, *found, seen))
            if number % EVERY == 0:
                progress(number)
    except Unreadable as fault:
        faults.unread.add(table.name)
        faults.add(source.file, fault.row, None, fault)


def _header(
    file: str, table: Table, header: tuple[int, list[str]] | None, faults: Faults
) -> list[Column | None] | None:
    """The column of each cell of a row; None after a fault."""
    expected = ", ".join(name for name in table.by_name)
    if header is None:
        faults.add(
            file, 1, None, _("the header row is missing: %(expected)s") % {"expected": expected}
        )
        return None
    before = faults.count
    number, cells = header
    names = [cell.strip().lower() for cell in cells]
    for name in dict.fromkeys(filter(None, names)):
        if name not in table.by_name:
            says = _("unknown column; the columns are %(expected)s") % {"expected": expected}
            faults.add(file, number, short(name), says)
        elif names.count(name) > 1:
            faults.add(file, number, name, _("this column is there twice"))
    for column in table.columns:
        if not column.optional and column.name not in names:
            faults.add(file, number, column.name, _("this column is missing"))
    if faults.count > before:
        return None
    return [table.by_name.get(name) for name in names]


def _values(
    file: str,
    table: Table,
    columns: list[Column | None],
    number: int,
    cells: list[str],
    faults: Faults,
) -> tuple[dict[str, object], frozenset[str]] | None:
    """The values of a row by field, and the fields whose cells could not be read; None for a
    blank row."""
    cells = [unshield(cell.strip()) for cell in cells]
    if not any(cells):
        return None
    broken: set[str] = set()
    values: dict[str, object] = {}
    for place, cell in enumerate(cells):
        column = columns[place] if place < len(columns) else None
        if not cell:
            continue
        try:
            if column is None:
                raise Wrong(
                    _("“%(cell)s” stands in a column without a name; is a separator too many?")
                    % {"cell": short(cell)}
                )
            if not cell.isascii() and (why := _not_utf8(cell)):
                raise Wrong(why)
            values[column.field] = column.kind.parse(cell)
        except Wrong as fault:
            faults.add(file, number, column.name if column else None, fault)
            if column:
                broken.add(column.field)
    for column in table.columns:
        if column.field in values:
            continue
        if not column.optional and column.field not in broken:
            faults.add(file, number, column.name, _("this cell may not be empty"))
            broken.add(column.field)
        empty = column.kind.empty
        if column.later and column not in columns:
            empty = empty or None
        values[column.field] = None if column.field in broken else empty
    return values, frozenset(broken) if broken else NOTHING


def _not_utf8(cell: str) -> str | None:
    if any("\ud800" <= character <= "\udfff" for character in cell):
        return _("a letter here is not in UTF-8; save the file as “CSV UTF-8”")
    return None


def _row(
    table: Table,
    file: str,
    number: int,
    values: dict[str, object],
    broken: frozenset[str],
    seen: Counter,
):
    if table.record and values["uuid"] is None and broken:
        values["uuid"] = None if "uuid" in broken else uuid.uuid4()
    elif table.record and values["uuid"] is None:
        told = (
            (column, shown(column.kind, values[column.field]))
            for column in table.columns
            if column.name not in NOT_CONTENT
        )
        # A row of before a column was there keeps its number.
        content = table.name + "".join(
            f"\x1f{cell}" for column, cell in told if cell or not column.later
        )
        made = uuid.uuid5(NAMESPACE, content)
        seen[made] += 1
        values["uuid"] = made if seen[made] == 1 else uuid.uuid5(made, str(seen[made]))
    return table.row(file=file, number=number, broken=broken, **values)
