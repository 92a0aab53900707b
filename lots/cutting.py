"""The order of cutting in a session: sound plants before those on watch, one variety after the
other, with the tools disinfected before each new variety (common practice, no source)."""

from collections.abc import Sequence

from lots.models import Cut, Lot, Stage, StickingSession, StockPlant
from lots.models.stock import Health


def in_cutting_order(session: StickingSession) -> list[Lot]:
    """The lots of a session as they are to be cut, each with its cuts as `lot.plants`."""
    lots = list(
        session.lots.exclude(stage=Stage.NOT_STUCK)
        .select_related("variety__group", "method", "flat", "first_place", "place", "stuck_by")
        .select_related("direct_pot_size", "session__led_by", "arm__trial")
        .order_by("line", "pk")
    )
    cuts: dict[int, list[Cut]] = {lot.pk: [] for lot in lots}
    for cut in Cut.objects.filter(lot__in=lots).select_related("stock_plant__place"):
        cuts[cut.lot_id].append(cut)
    first_line: dict[int, int] = {}
    for number, lot in enumerate(lots):
        lot.plants = sorted(cuts[lot.pk], key=lambda cut: (_on_watch(cut), cut.pk))
        first_line.setdefault(lot.variety_id, number)
    watched = {lot.variety_id for lot in lots if lot.plants and all(map(_on_watch, lot.plants))}
    lots.sort(
        key=lambda lot: (lot.variety_id in watched, first_line[lot.variety_id], lot.line, lot.pk)
    )
    return lots


def shared_cuts(plants: Sequence[StockPlant], pieces: int) -> list[Cut]:
    """Cuts of so many pieces from several stock plants, as evenly as it goes; not saved."""
    shares = [pieces // len(plants) + (n < pieces % len(plants)) for n in range(len(plants))]
    return [
        Cut(stock_plant=plant, pieces=share or None)
        for plant, share in zip(plants, shares, strict=True)
    ]


def number_cuts(session: StickingSession) -> None:
    """Write the order into the cuts; the first of each variety asks for disinfected tools."""
    number, last_variety = 0, None
    changed = []
    for lot in in_cutting_order(session):
        for cut in lot.plants:
            number += 1
            cut.order = number
            cut.disinfected_before = lot.variety_id != last_variety
            last_variety = lot.variety_id
            changed.append(cut)
    Cut.objects.bulk_update(changed, ["order", "disinfected_before"])


def _on_watch(cut: Cut) -> bool:
    return cut.stock_plant.health != Health.SOUND
