"""The fit that is kept in the book, and whether the book has changed since."""

from datetime import datetime, timedelta
from functools import cache

from django.db.models import F, Q
from django.utils import timezone

from lots.models import Fit, Lot
from lots.outlook import fits
from lots.outlook.fits import Fits

# A record may have been on its way into the book while the book was read.
ON_ITS_WAY = timedelta(seconds=10)

_newest: tuple[datetime, Fits] | None = None


@cache
def handbook() -> Fits:
    """What is expected before any lot is on record."""
    return fits.fit([])


def newest() -> Fits:
    """The fit that is kept, or the handbook's while there is none."""
    global _newest
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    if read_at is None:
        return handbook()
    if _newest is None or _newest[0] != read_at:
        kept = Fit.objects.get()
        _newest = kept.read_at, fits.load(kept.data)
    return _newest[1]


def keep(found: Fits, *, read_at: datetime, seconds: float, calendar: dict) -> None:
    """Put a fit in the place of the one before."""
    values = {
        "read_at": read_at,
        "seconds": seconds,
        "data": fits.dump(found),
        "calendar": calendar,
    }
    Fit.objects.update_or_create(pk=Fit.THE_ONE, defaults=values)


def mark_changed() -> None:
    """Say that the book has changed, so that the fit is to be made again."""
    Fit.objects.filter(Q(changed_at=None) | Q(changed_at__lt=F("read_at"))).update(
        changed_at=timezone.now()
    )


def is_behind() -> bool:
    """Whether the book has changed since the fit was made, or a day has passed, or the book has
    lots and no fit."""
    kept = Fit.objects.only("read_at", "changed_at").first()
    if kept is None:
        return Lot.objects.exists()
    if timezone.localtime(kept.read_at).date() != timezone.localdate():
        return True
    return kept.changed_at is not None and kept.changed_at > kept.read_at - ON_ITS_WAY
