"""The counts of the whole book, worked out anew from its records.

A book keeps its counts by itself, record by record; this is for one whose counts were made by
other arithmetic (an older version's, or days by another time zone) or by somebody who reached
past the ledger.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import batched

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lots import outlook, tally
from lots.ledger.load import unvoided
from lots.ledger.refusals import STANDS
from lots.ledger.standing import (
    FIELDS_OF_STANDING,
    STANDING,
    apply_records,
    clear,
    differences,
    names,
)
from lots.models import RECORDS, Lot
from lots.snapshot import snapshot

BATCH = 250  # lots locked at once; phones that write wait so long


@dataclass(frozen=True, slots=True)
class Recounted:
    """A lot, by its code, that did not stand as its records add up, and how it differed; `mended`
    unless they don't add up at all, and it stays as it was."""

    lot: str
    says: str
    mended: bool


def recount(*, dry_run: bool = False) -> Iterator[Recounted]:
    """Add up every lot, and write those that stood otherwise, a few at a time; with a dry run
    only tell of them."""
    shown = names()
    every = list(Lot.objects.order_by("pk").values_list("pk", flat=True))
    for some in batched(every, BATCH, strict=False):
        if dry_run:
            with snapshot():
                found, _changed = _add_up(Lot.objects.filter(pk__in=some).order_by("pk"), shown)
        else:
            found = _mend(some, shown)
        yield from found


@transaction.atomic
def _mend(some: Iterable[int], shown: dict) -> list[Recounted]:
    locked = Lot.objects.select_for_update(of=("self",)).filter(pk__in=some).order_by("pk")
    related = locked.select_related("variety__group", "method", "direct_pot_size", "session")
    found, changed = _add_up(related, shown)
    if changed:
        Lot.objects.bulk_update(changed, FIELDS_OF_STANDING)
        outlook.renew(changed)
    return found


def _add_up(lots: Iterable[Lot], shown: dict) -> tuple[list[Recounted], list[Lot]]:
    """What is found, and the lots that stand otherwise now, not saved."""
    lots = list(lots)
    records = unvoided(lots)
    found, changed = [], []
    for lot in lots:
        before = _stands(lot)
        try:
            if lot.is_stuck:
                apply_records(lot, records[lot.pk])
            else:
                clear(lot)
        except tally.Impossible as fault:
            found.append(Recounted(lot.code, _impossible(fault), mended=False))
            continue
        if says := differences(before, _stands(lot), shown):
            found.append(Recounted(lot.code, says, mended=True))
            changed.append(lot)
    return found, changed


def _stands(lot: Lot) -> dict[str, object]:
    return {name: getattr(lot, name) for name in STANDING}


def _impossible(fault: tally.Impossible) -> str:
    return _(
        "Its records don't add up, so it stays as it is: the %(kind)s of %(day)s takes %(wants)s "
        "where %(has)s are %(what)s. Void what is wrong on its page."
    ) % {
        "kind": RECORDS[fault.event.kind]._meta.verbose_name,
        "day": date_format(fault.event.day),
        "wants": fault.wants,
        "has": fault.has,
        "what": STANDS[fault.what],
    }
