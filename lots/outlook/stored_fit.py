"""The fit that is kept in the book, and whether the book has changed since."""

import logging
from datetime import datetime, timedelta
from functools import cache

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from lots.models import Fit, Lot
from lots.outlook import fits
from lots.outlook.fits import Fits

# A record may have been on its way into the book while the book was read; and of changes that
# follow each other closely only the first is marked.
ON_ITS_WAY, CLOSELY = timedelta(seconds=10), timedelta(seconds=5)

log = logging.getLogger(__name__)

_newest: tuple[datetime, Fits | None] | None = None


@cache
def handbook() -> Fits:
    """What is expected before any lot is on record."""
    return fits.fit([])


def newest() -> Fits:
    """The fit that is kept, or the handbook's while there is none that can be read."""
    return _readable() or handbook()


def is_broken() -> bool:
    """Whether a fit is kept that this version of the program can't read."""
    return Fit.objects.exists() and _readable() is None


def _readable() -> Fits | None:
    """The fit that is kept, read once; None where there is none, or one that can't be read."""
    global _newest
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    if read_at is None:
        return None
    if _newest is None or _newest[0] != read_at:
        kept = Fit.objects.only("read_at", "data").get()
        try:
            _newest = kept.read_at, fits.load(kept.data)
        except Exception:  # whatever is wrong with it: it is made anew
            log.exception("The fit that is kept can't be read; the handbook stands in for it.")
            _newest = kept.read_at, None
    return _newest[1]


def keep(found: Fits, **worked_out: object) -> None:
    """Put a fit, with all that was worked out from it (fields of `Fit`), in the place of the one
    before."""
    values = {"data": fits.dump(found), **worked_out}
    Fit.objects.update_or_create(pk=Fit.THE_ONE, defaults=values)


def mark_changed() -> None:
    """Say that the book has changed, so that the fit is to be made again, once that is so.

    Not inside the transaction that changes it: the one row of the fit, locked by each of them in
    between its lots, would let two that change several lots lock each other out. What has been
    written stands whether this comes off or not; the next record says it again.
    """
    transaction.on_commit(_mark_changed, robust=True)


def _mark_changed() -> None:
    now = timezone.now()
    unmarked = Fit.objects.filter(Q(changed_at=None) | Q(changed_at__lt=now - CLOSELY))
    if unmarked.exists():  # asked first: a write, even of nothing, waits for other writers
        with transaction.atomic():  # which waits for its turn
            unmarked.update(changed_at=now)


def is_behind() -> bool:
    """Whether the book has changed since the fit was made, or a day has passed, or the book has
    lots and no fit that can be read."""
    kept = Fit.objects.only("read_at", "changed_at").first()
    if kept is None:
        return Lot.objects.exists()
    if _readable() is None:
        return True
    if timezone.localtime(kept.read_at).date() != timezone.localdate():
        return True
    return kept.changed_at is not None and kept.changed_at > kept.read_at - ON_ITS_WAY
