"""Making it all anew: read the book, fit it, keep the fit, renew what stands on it."""

import logging
import threading
import time
from dataclasses import dataclass
from datetime import datetime
from itertools import batched

from django.db import connections, transaction
from django.utils import timezone

from lots.models import Lot
from lots.outlook import (
    calendar,
    changes,
    facts,
    finishing,
    fits,
    forecasts,
    hindcasts,
    noticing,
    stored_fit,
    verification,
)
from lots.outlook.fits import Fits
from lots.snapshot import snapshot

BATCH = 250  # lots renewed at once; phones that write wait so long
EVERY = 60  # seconds between looks whether the book has changed
REST = 20  # after a fit, rest so many times as long as it took

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Refit:
    """A fit of the whole book, when it was read for it, and how long that took."""

    fits: Fits
    read_at: datetime
    seconds: float


def refit() -> Refit:
    """Fit the book as it stands, keep the fit, and renew the forecasts of all lots that are
    planned or stand. A book without lots is forecast by the handbook, and nothing is kept.

    Reads without a lock and writes in short transactions: nobody at the bench waits for it. The fit
    itself is written last: one that ends half way leaves the book behind, and is made again.
    """
    began = time.perf_counter()
    read_at = timezone.now()
    with snapshot():
        known = facts.standing(Lot.objects.filter(stuck_on__isnull=False))
        some = Lot.objects.exists()
        spread = finishing.spread(known)
        noted = changes.noted()
    found = fits.fit(known, spread, noted)
    seconds = time.perf_counter() - began
    if some:
        weekly = calendar.calendar(found, timezone.localdate())
        renew_all(found)
        hindcasts.hindcast(known, noted)
        told = verification.told(known, timezone.localdate())
        stored_fit.keep(
            found,
            read_at=read_at,
            seconds=seconds,
            calendar=calendar.dump(weekly),
            judged=verification.dump(verification.verify(told)),
            noticed=noticing.dump(noticing.notice(told, timezone.localdate())),
        )
    return Refit(found, read_at, seconds)


def renew_all(found: Fits) -> None:
    """Renew every lot that is planned or stands, a few at a time, locked in the order of their keys
    as the ledger locks them."""
    lots = Lot.objects.filter(stage__in=forecasts.FORECAST).order_by("pk")
    for some in batched(list(lots.values_list("pk", flat=True)), BATCH, strict=False):
        with transaction.atomic():
            locked = Lot.objects.select_for_update(of=("self",)).filter(pk__in=some).order_by("pk")
            related = locked.select_related("variety__group", "method", "session")
            forecasts.write(list(related), found)


def refit_in_background(stop: threading.Event) -> None:
    """Refit whenever the book has changed, until `stop` is set: for a thread of the server."""
    wait = 0.0
    while not stop.wait(wait):
        wait = EVERY
        try:
            if stored_fit.is_behind():
                wait = max(EVERY, REST * refit().seconds)
        except Exception:
            log.exception("The forecasts could not be made anew; the ones before stay.")
        finally:
            connections.close_all()
