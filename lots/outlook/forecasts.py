"""From prediction to book: the newest forecast of each lot, the one frozen at sticking, and when
to look at it again."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.utils import timezone

from lots.forecast.surprise import SELDOM
from lots.models import Forecast, Lot, Stage
from lots.models.lot import STANDING
from lots.outlook import facts, kept
from lots.outlook.facts import Facts
from lots.outlook.prediction import Course, Prediction, predict
from lots.outlook.rows import expectation

# Days between looks once a lot has been looked at (common practice, no source).
LOOK_AGAIN = {Stage.STUCK: 7, Stage.STRUCK: 14, Stage.GROWING: 14, Stage.FINISHED: 14}
FIELDS_OF_LOT = ["look_on", "late_after", "seldom_after", "heavy_losses"]
WAITED_FOR = [Stage.STUCK, Stage.STRUCK, Stage.GROWING]
FORECAST = [Stage.PLANNED, *STANDING]
FIELDS = [
    field.name
    for field in Forecast._meta.concrete_fields
    if field.name not in ("id", "lot", "moment")
]
FARTHEST = 20_000  # days; nothing is forecast beyond


def expect(lots: Sequence[Lot]) -> list[Forecast]:
    """The newest forecasts of lots, not saved, of those that are planned or stand; and set on
    every lot when to look again and what is unusual."""
    known = facts.of(lots)
    found = predict(kept.newest(), known)
    made = []
    for n, (lot, row) in enumerate(zip(lots, known, strict=True)):
        look_ahead(lot, found, n)
        if lot.stage in FORECAST:
            made.append(forecast(row, found, n, Forecast.Moment.NEWEST))
            made[-1].lot = lot
    return made


def renew(lots: Sequence[Lot]) -> None:
    """Save the newest forecasts of lots after their records changed."""
    write(lots)
    kept.mark_changed()


def write(lots: Sequence[Lot]) -> None:
    """Save the newest forecasts of lots, and what follows from them for the lots."""
    made = expect(lots)
    Lot.objects.bulk_update(lots, FIELDS_OF_LOT)
    save(made)
    gone = [lot.pk for lot in lots if lot.stage not in FORECAST]
    if gone:
        Forecast.objects.filter(lot__in=gone, moment=Forecast.Moment.NEWEST).delete()


def freeze(lots: Sequence[Lot]) -> None:
    """Save the forecasts as they stand at sticking, to be held against what comes."""
    known = [facts.unseen(row) for row in facts.of(lots)]
    found = predict(kept.newest(), known)
    save([forecast(row, found, n, Forecast.Moment.STICKING) for n, row in enumerate(known)])


def forget(lot: Lot) -> None:
    """Nothing is expected of the lot any more."""
    Lot.objects.filter(pk=lot.pk).update(**dict.fromkeys(FIELDS_OF_LOT[:-1]), heavy_losses=False)
    lot.forecasts.all().delete()


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
        variety, method = lot.variety, lot.method
        row = expectation(variety.group.name, method.name, method.source_part)
        rooting = lot.stage in (Stage.STUCK, Stage.STRUCK)
        _look(lot, (row.struck if rooting else row.finished).low)


def forecast(row: Facts, found: Prediction, n: int, moment: Forecast.Moment) -> Forecast:
    """The n-th prediction as a row of the book, not saved."""
    start = row.start or timezone.localdate()
    behind = found.struck.behind[n], found.finished.behind[n], found.take_behind[n]
    own = any(behind)
    source = "" if own else expectation(row.group_name, row.method_name, row.source_part).source
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
        pots_p10=found.pots[n, 0],
        pots_p50=found.pots[n, 1],
        pots_p90=found.pots[n, 2],
        lots_struck=behind[0],
        lots_finished=behind[1],
        lots_take=behind[2],
        due=moment == Forecast.Moment.NEWEST and row.stage in WAITED_FOR,
    )


def _look(lot: Lot, first: float) -> None:
    lot.look_on = _on(lot.stuck_on, first)
    if lot.seen_on:
        lot.look_on = max(lot.look_on, lot.seen_on + timedelta(days=LOOK_AGAIN[lot.stage]))


def _days(stage: str, start: date, course: Course, n: int) -> dict[str, date]:
    names = (f"{stage}_p10", f"{stage}_p50", f"{stage}_p90")
    return {name: _on(start, days) for name, days in zip(names, course.days[n], strict=True)}


def _on(start: date, days: float) -> date:
    return start + timedelta(days=round(min(float(days), FARTHEST)))
