"""The order of cutting in a session: sound plants before those on watch, one variety after the
other, with the tools disinfected before each new variety (common practice, no source)."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Max

from lots.models import Cut, Lot, Stage, StickingSession, StockPlant
from lots.models.stock import Health


def in_cutting_order(session: StickingSession) -> list[Lot]:
    """The lots of a session as they are to be cut, each with its cuts as `lot.plants`.

    Of one not stuck yet, plants that are quarantined or gone stand in `lot.barred` instead: nobody
    is sent to cut them. One that has no others is `lot.held`, and comes last.
    """
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
        own = sorted(cuts[lot.pk], key=lambda cut: (_on_watch(cut), cut.pk))
        lot.plants = [cut for cut in own if lot.is_stuck or cut.stock_plant.may_be_cut]
        lot.barred = [cut for cut in own if cut not in lot.plants]
        lot.held = bool(lot.barred and not lot.plants)
        first_line.setdefault(lot.variety_id, number)
    watched = {lot.variety_id for lot in lots if lot.plants and all(map(_on_watch, lot.plants))}
    lots.sort(
        key=lambda lot: (
            lot.held,
            lot.variety_id in watched,
            first_line[lot.variety_id],
            lot.line,
            lot.pk,
        )
    )
    return lots


@dataclass
class Giving:
    """What the plants of a planned lot can give it on its day, against the pieces it asks for.

    `unknown` of the `plants` say nothing of what they give; `resting` are those that can't be cut
    again by then, each with the first day on which it can.
    """

    asked: int
    pieces: int = 0
    plants: int = 0
    unknown: int = 0
    resting: list[tuple[StockPlant, date]] = field(default_factory=list)

    @property
    def short(self) -> bool:
        return not self.unknown and self.asked > self.pieces


def what_plants_give(session: StickingSession, lots: Sequence[Lot]) -> dict[int, Giving]:
    """Of each planned lot of `in_cutting_order` that names plants to cut: what they can give, by
    its primary key. What a line before it in the session asks of a plant is gone."""
    planned = [lot for lot in lots if lot.plants and not lot.is_stuck]
    asked_before: dict[int, int] = {}
    for lot in lots:
        if lot.is_stuck:
            _take(lot, asked_before)
    rested = _rested_by(session, {cut.stock_plant_id for lot in planned for cut in lot.plants})
    found = {}
    for lot in sorted(planned, key=lambda lot: (lot.line, lot.pk)):
        giving = found[lot.pk] = Giving(asked=lot.planned_units * lot.pieces_per_unit)
        for plant in (cut.stock_plant for cut in lot.plants):
            giving.plants += 1
            ready = rested.get(plant.pk)
            if ready and ready > session.day:
                giving.resting.append((plant, ready))
            elif plant.gives is None:
                giving.unknown += 1
            else:
                giving.pieces += max(plant.gives - asked_before.get(plant.pk, 0), 0)
        _take(lot, asked_before)
    return found


def _take(lot: Lot, asked: dict[int, int]) -> None:
    for cut in lot.plants:
        asked[cut.stock_plant_id] = asked.get(cut.stock_plant_id, 0) + (cut.pieces or 0)


def _rested_by(session: StickingSession, plants: set[int]) -> dict[int, date]:
    """When plants that were cut before the session have rested."""
    cuts = Cut.objects.filter(
        stock_plant__in=plants,
        stock_plant__rest_weeks__isnull=False,
        lot__stuck_on__lte=session.day,
    ).exclude(lot__session=session)
    last = cuts.values_list("stock_plant", "stock_plant__rest_weeks").annotate(
        day=Max("lot__stuck_on")
    )
    return {plant: day + timedelta(weeks=weeks) for plant, weeks, day in last.order_by()}


def shared_cuts(plants: Sequence[StockPlant], pieces: int) -> list[Cut]:
    """Cuts of so many pieces from several stock plants, as evenly as it goes; not saved."""
    shares = [pieces // len(plants) + (n < pieces % len(plants)) for n in range(len(plants))]
    return [
        Cut(stock_plant=plant, pieces=share or None)
        for plant, share in zip(plants, shares, strict=True)
    ]


def number_cuts(session: StickingSession) -> None:
    """Write the order into the cuts that are still to be made; the first of each variety asks for
    disinfected tools. What was cut stays as it happened."""
    lots = in_cutting_order(session)
    made = [(cut.order, lot.variety_id) for lot in lots if lot.is_stuck for cut in lot.plants]
    number, last_variety = max(made, default=(0, None))
    changed = []
    for lot in (lot for lot in lots if not lot.is_stuck):
        for cut in lot.plants:
            number += 1
            cut.order = number
            cut.disinfected_before = lot.variety_id != last_variety
            last_variety = lot.variety_id
            changed.append(cut)
    Cut.objects.bulk_update(changed, ["order", "disinfected_before"])


def _on_watch(cut: Cut) -> bool:
    return cut.stock_plant.health != Health.SOUND
