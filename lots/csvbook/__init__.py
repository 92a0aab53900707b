"""The whole book as CSV files, out and in.

`columns` says which tables and columns there are, `cells` how each kind of cell is read and
shown, `reading` turns files into rows, `checking` holds the rows against each other and the
book, `importing` puts them in, `exporting` writes them out.
"""

from lots.csvbook.columns import TABLES, add_tables
from lots.csvbook.exporting import export
from lots.csvbook.faults import Fault
from lots.csvbook.importing import Progress, Report, import_files
from lots.csvbook.reading import NoFiles, find

__all__ = [
    "TABLES",
    "Fault",
    "NoFiles",
    "Progress",
    "Report",
    "add_tables",
    "export",
    "find",
    "import_files",
]
