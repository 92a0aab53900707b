"""Putting right what a stuck lot is. Nothing is edited silently: each field that changes leaves a
`Correction` with what stood there before."""

from collections.abc import Sequence

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from lots import outlook
from lots.ledger.refusals import Refused, check_licence, check_plant
from lots.ledger.standing import locked
from lots.models import Correction, Cut, Lot, Method, StickingSession, StockPlant, Variety

# What a forecast at sticking hangs on.
FORECAST_BY = {"variety", "method", "stuck_units", "stuck_on"}


@transaction.atomic
def correct(
    lot: Lot,
    *,
    variety: Variety,
    method: Method,
    session: StickingSession | None,
    plants: Sequence[StockPlant],
    by,
    why: str,
) -> Lot:
    """Say what a stuck lot really is, and of which plants it was cut. Raises Refused.

    The health of the plants doesn't matter: it is of today, and they were cut in the past. A lot
    that turns out to be another than its trial asked for leaves the trial.
    """
    lot = locked(lot)
    if not why.strip():
        raise Refused(_("Say in a few words what was wrong."), "why")
    if not lot.is_stuck:
        raise Refused(_("%(lot)s is not stuck; change its line in the session.") % {"lot": lot})
    before = told(lot)
    if variety != lot.variety:
        check_licence(variety)
        _check_none_kept(lot)
    lot.variety, lot.method = variety, method
    for plant in plants:
        check_plant(plant, lot)
    if session != lot.session:
        lot.session, lot.line = session, _next_line(session)
        if session:
            _cut_last(lot)
    _cut_of(lot, plants)
    was = {"variety": variety, "method": method, "session": session}
    if lot.arm and any(before[name] != _shown(now) for name, now in was.items()):
        lot.arm = None
    lot.save(update_fields=["variety", "method", "session", "line", "arm"])
    if not write_down(lot, before, by=by, why=why):
        raise Refused(_("Nothing is changed: the book says this already."))
    return lot


def told(lot: Lot) -> dict[str, str]:
    """What can be put right of a lot, by its fields, as a person reads it."""
    cuts = Cut.objects.filter(lot=lot).select_related("stock_plant")
    values = {
        "variety": lot.variety,
        "method": lot.method,
        "session": lot.session,
        "arm": lot.arm,
        "stock_plants": ", ".join(sorted(cut.stock_plant.code for cut in cuts)),
        "stuck_units": lot.stuck_units,
        "stuck_on": lot.stuck_on,
        "stuck_by": lot.stuck_by,
        "flat": lot.flat,
        "first_place": lot.first_place,
    }
    return {field: _shown(value) for field, value in values.items()}


def write_down(lot: Lot, before: dict[str, str], *, by, why: str) -> set[str]:
    """Keep what a saved lot said before, and let its forecasts follow. Returns what changed."""
    after, at = told(lot), timezone.now()
    changed = {field for field in after if after[field] != before[field]}
    Correction.objects.bulk_create(
        Correction(
            lot=lot,
            at=at,
            by=by,
            why=why.strip(),
            field=field,
            before=before[field],
            after=after[field],
        )
        for field in after
        if field in changed
    )
    if lot.is_stuck and changed:
        if changed & FORECAST_BY:
            outlook.freeze_again(lot)
        outlook.renew([lot])
    return changed


def _shown(value: object) -> str:
    if isinstance(value, Variety):
        return f"{value} ({value.code})"
    return "" if value is None else str(value)


def _check_none_kept(lot: Lot) -> None:
    """The plants that were kept of a lot are of its variety, and so are the lots cut from them."""
    kept = list(lot.kept_as_stock.values_list("code", flat=True))
    if kept:
        raise Refused(
            _(
                "Stock plants came from it and are in the book as %(its)s: %(plants)s. Empty “From "
                "lot” on their pages first, and write it again when all are right."
            )
            % {"its": lot.variety, "plants": ", ".join(kept)},
            "variety",
        )


def _next_line(session: StickingSession | None) -> int:
    if session is None:
        return 0
    return (session.lots.aggregate(last=Max("line"))["last"] or 0) + 1


def _cut_last(lot: Lot) -> None:
    """Put its cuts after those of its new session: where they really came is not known."""
    cuts = list(lot.cuts.order_by("order", "pk"))
    others = Cut.objects.filter(lot__session=lot.session).exclude(lot=lot)
    last = others.aggregate(last=Max("order"))["last"] or 0
    for number, cut in enumerate(cuts, 1):
        cut.order = last + number
    Cut.objects.bulk_update(cuts, ["order"])


def _cut_of(lot: Lot, plants: Sequence[StockPlant]) -> None:
    """Cuts of these plants and no others. A plant that takes the place of another takes its pieces
    and its turn; one beside the others comes last, with tools that nobody says were disinfected."""
    cuts = {cut.stock_plant_id: cut for cut in lot.cuts.order_by("order", "pk")}
    going = [cut for plant, cut in cuts.items() if plant not in {each.pk for each in plants}]
    last = max((cut.order for cut in cuts.values()), default=0)
    for plant in plants:
        if plant.pk in cuts:
            continue
        if going:
            cut = going.pop(0)
            cut.stock_plant = plant
            cut.save(update_fields=["stock_plant"])
        else:
            last += 1
            Cut.objects.create(lot=lot, stock_plant=plant, order=last)
    for cut in going:
        cut.delete()
