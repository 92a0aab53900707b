"""From prediction to book: the newest forecast of each lot with its pots to come, the one frozen at
sticking, and when to look at a lot again."""

import logging
from collections.abc import Callable, Sequence
from datetime import date, timedelta

import numpy as np
from django.db import transaction
from django.utils import timezone

from lots.forecast import arrivals
from lots.forecast.surprise import SELDOM
from lots.models import Forecast, Lot, Stage, ToCome
from lots.models.lot import STANDING
from lots.outlook import facts, stored_fit
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.prediction import Prediction, StageForecast, predict
from lots.outlook.rows import expectation, row_of

# Days between looks once a lot has been looked at (common practice, no source).
LOOK_AGAIN = {Stage.STUCK: 7, Stage.STRUCK: 14, Stage.GROWING: 14, Stage.FINISHED: 14}
FIELDS_OF_LOT = ["look_on", "late_after", "seldom_after", "heavy_losses"]
FORECAST = [Stage.PLANNED, *STANDING]
FIELDS = [
    field.name
    for field in Forecast._meta.concrete_fields
    if field.name not in ("id", "lot", "moment")
]
FARTHEST = 20_000  # days; nothing is forecast beyond

log = logging.getLogger(__name__)


def tolerate_failure[T](work: Callable[[Fits], T]) -> T | None:
    """What `work` makes of the newest fit, or of the handbook where that fails; None where both do.

    A forecast never stands in the way of a record: the fault goes to the log, and what `work` wrote
    is taken back alone. Raises only where the database has given up the whole transaction, the
    record with it.
    """
    for fits in (stored_fit.newest, stored_fit.handbook):
        try:
            with transaction.atomic():
                return work(fits())
        except Exception:
            if transaction.get_rollback():
                raise
            log.exception("A forecast could not be made; the record is saved without it.")
    return None


def expect(lots: Sequence[Lot]) -> tuple[list[Forecast], list[ToCome]]:
    """The newest forecasts of lots, not saved, of those that are planned or stand, and the pots
    that are to come of those that stand; and set on every lot when to look again and what is
    unusual."""
    return tolerate_failure(lambda fits: _expect(lots, fits)) or ([], [])


def _expect(lots: Sequence[Lot], fits: Fits) -> tuple[list[Forecast], list[ToCome]]:
    widths, today = facts.pot_widths(), timezone.localdate()
    known = facts.of(lots, widths)
    found = predict(fits, known, today)
    made, coming = [], []
    for n, (lot, row) in enumerate(zip(lots, known, strict=True)):
        look_ahead(lot, found, n)
        if lot.stage in FORECAST:
            made.append(forecast(row, found, n, Forecast.Moment.NEWEST))
            made[-1].lot = lot
        if lot.stage in STANDING:
            size = found.to_come.pots[n].size
            for day, growing, cells in to_come(row, found, n, today):
                # A fit may name a size that has been taken out of the book since.
                at = ToCome(day=day, growing=growing, cells=cells)
                at.lot, at.variety_id = lot, lot.variety_id
                at.pot_size_id = size if size in widths else None
                coming.append(at)
    return made, coming


def renew(lots: Sequence[Lot]) -> None:
    """Save the newest forecasts of lots after their records changed."""
    tolerate_failure(lambda fits: write(lots, fits))
    stored_fit.mark_changed()


def write(lots: Sequence[Lot], fits: Fits) -> None:
    """Save the newest forecasts of lots, and what follows from them for the lots."""
    made, coming = _expect(lots, fits)
    if len(lots) == 1:  # as after each record; four times as quick
        lots[0].save(update_fields=FIELDS_OF_LOT)
    else:
        Lot.objects.bulk_update(lots, FIELDS_OF_LOT)
    save(made)
    ToCome.objects.filter(lot__in=lots).delete()
    ToCome.objects.bulk_create(coming, batch_size=1000)
    gone = [lot.pk for lot in lots if lot.stage not in FORECAST]
    if gone:
        Forecast.objects.filter(lot__in=gone, moment=Forecast.Moment.NEWEST).delete()


def freeze(lots: Sequence[Lot]) -> None:
    """Save the forecasts as they stand at sticking, to be held against what comes."""
    tolerate_failure(lambda fits: _freeze(lots, fits))


def _freeze(lots: Sequence[Lot], fits: Fits) -> None:
    known = [facts.unseen(row) for row in facts.of(lots)]
    found = predict(fits, known)
    save([forecast(row, found, n, Forecast.Moment.STICKING) for n, row in enumerate(known)])


def freeze_again(lot: Lot) -> None:
    """The forecast at sticking of a lot that turns out to be another than the book said then.

    Held against what comes, the old one would blame the forecasts for a slip of the pen; one made
    now would know what was seen since. So it is made now only on the day of sticking; else it is
    taken away, and the next refit works it out from what had been seen by then (`hindsight`).
    """
    if lot.stuck_on == timezone.localdate():
        freeze([lot])
    else:
        lot.forecasts.filter(moment=Forecast.Moment.STICKING).delete()


def forget(lot: Lot) -> None:
    """Nothing is expected of the lot any more."""
    Lot.objects.filter(pk=lot.pk).update(**dict.fromkeys(FIELDS_OF_LOT[:-1]), heavy_losses=False)
    lot.forecasts.all().delete()
    lot.to_come.all().delete()


def save(made: Sequence[Forecast]) -> None:
    """Write forecasts in the place of those of the same lots and moments."""
    Forecast.objects.bulk_create(
        made,
        batch_size=500,
        update_conflicts=True,
        unique_fields=["lot", "moment"],
        update_fields=FIELDS,
    )


def look_ahead(lot: Lot, found: Prediction, n: int) -> None:
    """Set on the lot when to look again, when it is late, and whether it loses too much.

    Looks begin on the first likely day of the next stage and go on every week or two.
    """
    lot.look_on = lot.late_after = lot.seldom_after = None
    lot.heavy_losses = False
    if lot.stage not in LOOK_AGAIN:
        return
    rooting = lot.stage in (Stage.STUCK, Stage.STRUCK)
    _look(lot, (found.struck if rooting else found.finished).usual[n, 0])
    if lot.stage == Stage.FINISHED:
        return
    waits_for = found.struck if lot.stage == Stage.STUCK else found.finished
    lot.late_after = _on(lot.stuck_on, waits_for.usual[n, 2])
    lot.seldom_after = _on(lot.stuck_on, waits_for.seldom[n])
    lost = lot.pots_lost if lot.direct else lot.cells_lost
    lot.heavy_losses = bool(lost and found.losses[n] < SELDOM)


def look_by_handbook(lot: Lot) -> None:
    """Set on a lot, in the book or not, when the handbook alone would look at it again."""
    lot.look_on = None
    if lot.stage in LOOK_AGAIN:
        row = row_of(lot.variety.group, lot.method)
        rooting = lot.stage in (Stage.STUCK, Stage.STRUCK)
        _look(lot, (row.struck if rooting else row.finished).low)


def forecast(row: Facts, found: Prediction, n: int, moment: Forecast.Moment) -> Forecast:
    """The n-th prediction as a row of the book, not saved."""
    start = row.start or timezone.localdate()
    behind = found.struck.behind[n], found.finished.behind[n], found.take_behind[n]
    own = any(behind)
    source = "" if own else expectation(row.roots_like, row.cut_like, row.source_part).source
    return Forecast(
        lot_id=row.pk,
        moment=moment,
        basis=Forecast.Basis.OWN if own else Forecast.Basis.HANDBOOK,
        source=source,
        **_days("struck", start, found.struck, n),
        **_days("finished", start, found.finished, n),
        take_mean=found.take[n],
        take_p10=found.units[n, 0] / row.units,
        take_p90=found.units[n, 2] / row.units,
        take_p10_inside=found.edges[n, 0],
        take_p90_inside=found.edges[n, 1],
        to_come_p10=found.to_come.band[n, 0],
        to_come=found.to_come.growing[n] + found.to_come.cells[n],
        to_come_p90=found.to_come.band[n, 1],
        lots_struck=behind[0],
        lots_finished=behind[1],
        lots_take=behind[2],
    )


def to_come(row: Facts, found: Prediction, n: int, today: date) -> list[tuple[date, int, int]]:
    """The pots to come of the n-th prediction, by the middle of their days in each ISO week: day,
    those that grow, those to be made of cells. What should be there by now is expected today."""
    start = row.stuck_on or today

    def ordinals(days: np.ndarray) -> np.ndarray:
        whole = start.toordinal() + np.rint(np.minimum(days, FARTHEST)).astype(np.intp)
        return np.maximum(whole, today.toordinal())

    growing = ordinals(found.to_come.growing_on[n])
    both = np.sort(np.concatenate([growing, ordinals(found.to_come.cells_on[n])]))
    potted = {arrivals.week(day): pots for day, pots in arrivals.by_week(growing)}
    rows = []
    for day, pots in arrivals.by_week(both):
        grow = potted.get(arrivals.week(day), 0)
        rows.append((date.fromordinal(day), grow, pots - grow))
    return rows


def _look(lot: Lot, first: float) -> None:
    lot.look_on = _on(lot.stuck_on, first)
    if lot.seen_on:
        lot.look_on = max(lot.look_on, lot.seen_on + timedelta(days=LOOK_AGAIN[lot.stage]))


def _days(stage: str, start: date, found: StageForecast, n: int) -> dict[str, date]:
    names = (f"{stage}_p10", f"{stage}_p50", f"{stage}_p90")
    return {name: _on(start, days) for name, days in zip(names, found.days[n], strict=True)}


def _on(start: date, days: float) -> date:
    return start + timedelta(days=round(min(float(days), FARTHEST)))
