"""What the book would have said at sticking of lots that came into it with their history.

Each half-year's lots are forecast from a fit of what had been seen before it began, so that the
book can be judged from its first day, and nothing that came later speaks.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction

from lots.models import Forecast, Lot
from lots.outlook import facts, fits, forecasts
from lots.outlook.changes import Change
from lots.outlook.facts import Facts
from lots.outlook.prediction import predict
from lots.outlook.verification import half_year

BATCH = 250  # lots written at once; phones that write wait so long


def hindcast(known: Sequence[Facts], noted: Sequence[Change] = ()) -> None:
    """Write the forecasts at sticking that are missing; `known` are all lots ever stuck, `noted`
    all changes of the nursery."""
    frozen = set(
        Forecast.objects.filter(moment=Forecast.Moment.STICKING).values_list("lot", flat=True)
    )
    missing: dict[date, list[Facts]] = defaultdict(list)
    for lot in known:
        if lot.pk not in frozen:
            missing[half_year(lot.stuck_on)].append(lot)
    for day, lots in sorted(missing.items()):
        before = [change for change in noted if change.day < day]
        fitted = fits.fit(_known_before(day, known), noted=before)
        found = predict(fitted, [facts.unseen(lot) for lot in lots])
        made = [
            forecasts.forecast(facts.unseen(lot), found, n, Forecast.Moment.STICKING)
            for n, lot in enumerate(lots)
        ]
        for row in made:
            row.hindsight = True
        for n in range(0, len(made), BATCH):
            with transaction.atomic():
                forecasts.save(_still_there(made[n : n + BATCH]))


def _known_before(day: date, known: Sequence[Facts]) -> list[Facts]:
    """What had been seen, before a day, of the lots stuck before it: records are added up again
    only of those that had more to come."""
    told = [lot for lot in known if lot.stuck_on < day and not (lot.seen_on and lot.seen_on >= day)]
    had_more = Lot.objects.filter(stuck_on__lt=day, seen_on__gte=day)
    return [*told, *facts.as_of(had_more, day - timedelta(days=1))]


def _still_there(made: list[Forecast]) -> list[Forecast]:
    """Those of lots that are stuck now: one may have been set back to not stuck meanwhile. They
    stay locked, in the order of their keys like everywhere, till their forecasts are written."""
    stuck = Lot.objects.filter(pk__in=[row.lot_id for row in made], stuck_on__isnull=False)
    locked = stuck.select_for_update(of=("self",)).order_by("pk")
    there = set(locked.values_list("pk", flat=True))
    return [row for row in made if row.lot_id in there]
