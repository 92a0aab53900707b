"""From the book to the forecast and back: what is expected of a lot, and when to look again.

For now every expectation is the handbook's, for the lot's crop group and method.
"""

from datetime import date, timedelta

from django.utils import timezone

from lots.forecast import handbook
from lots.models import Forecast, Lot, Stage

# Days between looks once a lot has been looked at (common practice, no source).
LOOK_AGAIN = {Stage.STUCK: 7, Stage.STRUCK: 14, Stage.GROWING: 14, Stage.FINISHED: 14}
FIELDS_OF_LOT = ["look_on", "late_after", "heavy_losses"]
WAITED_FOR = {Stage.STUCK, Stage.STRUCK, Stage.GROWING}


def expected(lot: Lot) -> handbook.Expectation:
    """The handbook's row for the lot."""
    return handbook.expect(lot.variety.group.name, lot.method.name, lot.method.source_part)


def forecast(lot: Lot, moment: Forecast.Moment = Forecast.Moment.NEWEST) -> Forecast:
    """The lot's forecast as it stands, not saved. A planned lot counts from its session's day."""
    row = expected(lot)
    start = lot.stuck_on or (lot.session.day if lot.session else timezone.localdate())
    struck, finished = handbook.forecast(row.struck), handbook.forecast(row.finished)
    low, mean, high = row.take.low, (row.take.low + row.take.high) / 2, row.take.high
    return Forecast(
        lot=lot,
        moment=moment,
        made_on=timezone.localdate(),
        basis=Forecast.Basis.HANDBOOK,
        source=row.source,
        struck_p10=_on(start, struck.p10),
        struck_p50=_on(start, struck.p50),
        struck_p90=_on(start, struck.p90),
        finished_p10=_on(start, finished.p10),
        finished_p50=_on(start, finished.p50),
        finished_p90=_on(start, finished.p90),
        take_mean=mean,
        take_p10=low,
        take_p90=high,
        pots_p10=_pots(lot, low),
        pots_p50=_pots(lot, mean),
        pots_p90=_pots(lot, high),
        due=moment == Forecast.Moment.NEWEST and lot.stage in WAITED_FOR,
    )


def refresh(lot: Lot) -> None:
    """Save the newest forecast of a lot after its records changed."""
    _save(forecast(lot))


def freeze(lot: Lot) -> None:
    """Save the forecast as it stands at sticking, to be held against what comes; and the newest."""
    _save(forecast(lot, Forecast.Moment.STICKING))
    refresh(lot)


def look_ahead(lot: Lot) -> None:
    """Set on the lot when to look again, when it is late, and whether it loses too much.

    Looks begin on the first likely day of the next stage and go on every week or two. Losses
    are heavy when more is lost than the low end of the expected take leaves room for.
    """
    lot.look_on = lot.late_after = None
    lot.heavy_losses = False
    if lot.stage not in LOOK_AGAIN:
        return
    row = expected(lot)
    rooting = lot.stage in (Stage.STUCK, Stage.STRUCK)
    ahead = row.struck if rooting else row.finished
    lot.look_on = _on(lot.stuck_on, ahead.low)
    if lot.seen_on:
        again = lot.seen_on + timedelta(days=LOOK_AGAIN[lot.stage])
        lot.look_on = max(lot.look_on, again)
    if lot.stage == Stage.STUCK:
        lot.late_after = _on(lot.stuck_on, row.struck.high)
    elif lot.stage != Stage.FINISHED:
        lot.late_after = _on(lot.stuck_on, row.finished.high)
    lost = lot.pots_lost if lot.direct else lot.cells_lost
    lot.heavy_losses = rooting and lost > lot.stuck_units * (1 - row.take.low)


def forecasts(lot: Lot) -> list[Forecast]:
    """The rows a lot that comes into the book with its history has, not saved."""
    if lot.stage == Stage.NOT_STUCK:
        return []
    moments = [Forecast.Moment.NEWEST]
    if lot.is_stuck:
        moments.append(Forecast.Moment.STICKING)
    return [forecast(lot, moment) for moment in moments]


def _on(start: date, days: float) -> date:
    return start + timedelta(days=round(days))


def _pots(lot: Lot, take: float) -> int:
    """Pots that come of the lot if this share of its units takes."""
    hoped = round(take * lot.units)
    if lot.direct and lot.is_stuck:
        return min(hoped, lot.pots_growing) + lot.pots_finished
    if not lot.is_stuck:
        return hoped
    return min(max(hoped - lot.units_potted, 0), lot.cells) + lot.pots_here


def _save(made: Forecast) -> None:
    values = {
        field.attname: getattr(made, field.attname)
        for field in Forecast._meta.concrete_fields
        if field.name not in ("id", "lot", "moment")
    }
    Forecast.objects.update_or_create(lot=made.lot, moment=made.moment, defaults=values)
