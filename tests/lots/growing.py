"""Lots with a past: stuck some time ago, and all that was written down about them since."""

from datetime import datetime, time, timedelta

from django.utils import timezone

from lots import ledger
from lots.ledger import new_code
from lots.models import Finish, Loss, Lot, PotUp, StrikeCheck
from lots.outlook import changes, facts, fits, stored_fit
from tests import factories

UNITS = 48


def moment(days_ago: int) -> datetime:
    day = timezone.localdate() - timedelta(days=days_ago)
    return timezone.make_aware(datetime.combine(day, time(9)))


def stuck(days: int, **fields) -> Lot:
    """A lot stuck so many days ago, not in the book yet."""
    given = {"planned_units": UNITS, "stuck_units": UNITS} | fields
    for name in ("variety", "method"):
        if name not in given:
            given[name] = getattr(factories, name)()
    given["stuck_on"] = timezone.localdate() - timedelta(days=days)
    return Lot(code=new_code(), **given)


def grown(
    days: int = 220, *, strikes: int = 38, finishes: int = 150, takes: int = 36, by, **fields
) -> tuple[Lot, list]:
    """A lot and its records as `ledger.load` takes them, up to what is past: looked at a week
    before it struck and on the day, the rest lost, potted up, looked at a week before it finished
    and finished on the day."""
    lot = stuck(days, **fields)

    def at(age: int) -> dict:
        return {"observed_at": moment(days - age), "by": by}

    pot = factories.potsize()
    lost = lot.stuck_units - takes
    records = [
        (strikes - 7, StrikeCheck(looked_at=lot.stuck_units, rooted=2, **at(strikes - 7))),
        (strikes, StrikeCheck(looked_at=lot.stuck_units, rooted=takes, **at(strikes))),
        (strikes + 14, Loss(stage="cell", units=lost, reason="rot", **at(strikes + 14))),
        (strikes + 14, PotUp(units=takes, pots=takes, pot_size=pot, **at(strikes + 14))),
        (finishes - 7, StrikeCheck(looked_at=takes, rooted=takes, **at(finishes - 7))),
        (finishes, Finish(pots=takes, **at(finishes))),
    ]
    return lot, [record for age, record in records if age < days]


def died(days: int = 200, *, by, **fields) -> tuple[Lot, list]:
    """A lot of which nothing lived."""
    lot = stuck(days, **fields)
    loss = Loss(stage="cell", units=lot.stuck_units, reason="rot", by=by)
    loss.observed_at = moment(days - 20)
    return lot, [loss]


def learn() -> None:
    """Fit the book and keep the fit, without what a refit does beside: quicker by far."""
    known = facts.standing(Lot.objects.filter(stuck_on__isnull=False))
    now = timezone.now()
    found = fits.fit(known, noted=changes.noted())
    stored_fit.keep(found, read_at=now, seconds=0, calendar={}, judged=[])


def load(*book: tuple[Lot, list]) -> list[Lot]:
    """Write them; as they stand in the book."""
    ledger.load(book)
    pks = [lot.pk for lot, _records in book]
    found = Lot.objects.in_bulk(pks)
    return [found[pk] for pk in pks]
