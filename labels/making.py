"""Sheets being made and sheets kept.

A sheet is made in a thread of its own, so that a page can show how far it is, and leaving the page
stops nothing. What is made is kept as a file named by all that decides it: the same sheet asked for
twice is made once. The files are a cache; what was printed stands in the database (`Printing`),
and a file that is gone is made again from there.
"""

import logging
from pathlib import Path
from threading import Lock, Thread, get_ident

from django.conf import settings

from labels import sheet
from labels.order import Order

KEPT = 60
"""Sheets kept as files, the newest."""

PATIENCE = 1.0
"""Seconds that a page waits for a sheet before it shows how far it is."""

_making: dict[str, "Making"] = {}
_lock = Lock()


class Making(Thread):
    """A sheet being made: `share` of it is done; `failed` if it could not be."""

    def __init__(self, order: Order) -> None:
        super().__init__(name=f"sheet {order.key[:8]}", daemon=True)
        self.order, self.share, self.failed = order, 0.0, False

    def run(self) -> None:
        key = self.order.key
        try:
            _keep(key, sheet.make_order(self.order, self._reached).pdf)
        except Exception:
            logging.getLogger(__name__).exception("A sheet of tags could not be made.")
            self.failed = True  # and stays listed, for one page to tell
        else:
            with _lock:
                del _making[key]

    @property
    def percent(self) -> int:
        return round(100 * self.share)

    def _reached(self, share: float) -> None:
        self.share = share


def kept(key: str) -> Path | None:
    """The file of a sheet, if it is made and still kept."""
    path = _folder() / f"{key}.pdf"
    return path if path.exists() else None


def make(order: Order, patience: float = PATIENCE) -> Making | None:
    """See to it that a sheet is made, and wait a little; None once it is kept.

    One that failed is told once; asked again, it is tried again.
    """
    with _lock:
        if kept(order.key):
            return None
        making = _making.get(order.key)
        if making is None:
            making = _making[order.key] = Making(order)
            making.start()
    making.join(patience)
    if making.failed:
        with _lock:
            _making.pop(order.key, None)
    return None if kept(order.key) else making


def pdf(order: Order) -> bytes:
    """The PDF of a sheet, made now if it isn't kept. Raises what `labels.sheet.make` does."""
    with _lock:
        begun = _making.get(order.key)
    if begun:
        begun.join()
    found = kept(order.key)
    if found:
        return found.read_bytes()
    made = sheet.make_order(order)
    _keep(order.key, made.pdf)
    return made.pdf


def _folder() -> Path:
    return Path(settings.DATA_DIR) / "sheets"


def _keep(key: str, made: bytes) -> None:
    """Write the file whole or not at all, and let the oldest go."""
    folder = _folder()
    folder.mkdir(exist_ok=True)
    unfinished = folder / f"{key}.{get_ident()}.part"  # two may be at it
    unfinished.write_bytes(made)
    unfinished.replace(folder / f"{key}.pdf")
    files = sorted(folder.glob("*.pdf"), key=lambda path: path.stat().st_mtime)
    for old in files[:-KEPT]:
        old.unlink(missing_ok=True)
