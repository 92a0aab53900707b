"""Files into the book: all of it, or nothing and every fault."""

import gc
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from contextlib import ExitStack, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from lots.csvbook.adding_up import by_lot, check_sums
from lots.csvbook.checking import Rows, sort_out
from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Fault, Faults
from lots.csvbook.parsing import parse
from lots.csvbook.reading import sources
from lots.csvbook.writing import write
from lots.tally import Impossible

# Told what is being done, how many rows of it are done, and of how many (None: not known).
type Progress = Callable[[str, int, int | None], None]


@dataclass(frozen=True)
class Report:
    """What an import did, or with a dry run would do; after a fault it did nothing.

    `added` and `already` (rows that the book holds just so) count by table. Of all `faults_count`
    faults the first thousand are in `faults`.
    """

    added: dict[str, int]
    already: dict[str, int]
    faults: list[Fault]
    faults_count: int

    @property
    def good(self) -> bool:
        return not self.faults_count


def no_progress(doing: str, done: int, of: int | None) -> None:
    pass


def import_files(
    files: Iterable[tuple[str, Path | BinaryIO]],
    *,
    dry_run: bool = False,
    progress: Progress = no_progress,
) -> Report:
    """Import files, each with its name (which says what table it is) and a path or an open
    binary file. Order doesn't matter: rows may refer to any file of the call and to the book.
    """
    faults = Faults()
    rows = gather(files, faults, progress)
    gc.freeze()  # hundreds of thousands of rows that live to the end need not be looked through
    try:
        return _import(rows, faults, dry_run, progress)
    finally:
        gc.unfreeze()


def _import(rows: Rows, faults: Faults, dry_run: bool, progress: Progress) -> Report:
    progress(_("Checking"), 0, None)
    # Nobody else writes between the checks and the writing.
    with nullcontext() if dry_run else transaction.atomic():
        found = sort_out(rows, faults)
        records = by_lot(found)
        check_sums(found, records, faults)
        if not (dry_run or faults):
            lots = len(found.new["lots"])
            try:
                with transaction.atomic():
                    write(found, records, lambda done: progress(_("Writing lots"), done, lots))
            except (IntegrityError, Impossible):
                # Only where rows, not the whole database, are locked (PostgreSQL).
                says = _("it was changed while the import was at work; please import again")
                faults.add(_("the book"), None, None, says)
    return Report(
        added=_counts({name: len(new) for name, new in found.new.items()}),
        already=_counts(found.already),
        faults=faults.kept,
        faults_count=faults.count,
    )


def gather(
    files: Iterable[tuple[str, Path | BinaryIO]], faults: Faults, progress: Progress = no_progress
) -> Rows:
    """The parsed rows of all files by table. Asks the database nothing."""
    rows: Rows = defaultdict(list)
    seen: Counter = Counter()
    for name, file in files:
        with ExitStack() as stack:
            if isinstance(file, Path):
                file = stack.enter_context(file.open("rb"))
            for source in sources(name, file, faults):
                reading = _("Reading %(file)s") % {"file": source.file}

                def tell(done: int, reading: str = reading) -> None:
                    progress(reading, done, None)

                rows[source.table] += parse(source, faults, seen, tell)
    return rows


def _counts(counts: dict[str, int]) -> dict[str, int]:
    return {name: counts[name] for name in TABLES if counts.get(name)}
