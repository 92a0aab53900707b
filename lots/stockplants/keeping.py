"""Pots of an own lot that are kept for stock: from then on they are a stock plant."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from lots.ledger import Refused
from lots.models import Leave, StockPlant
from lots.models.stock import Origin


def keep(leave: Leave) -> StockPlant:
    """The stock plant of pots that went out of a lot to be kept: one row, however many pots, under
    the next code that is free for its variety. Raises Refused."""
    lot = leave.lot
    plant = StockPlant(
        code=next_code(lot.variety.code),
        variety=lot.variety,
        origin=Origin.OWN,
        from_lot=lot,
        since=timezone.localtime(leave.observed_at).date(),
        place=lot.parts[-1].place,
        plants=leave.pots,
    )
    try:
        plant.full_clean()
    except ValidationError as fault:
        raise Refused(" ".join(fault.messages)) from fault
    plant.save()
    return plant


def next_code(variety: str) -> str:
    """`RX04-01`, or the next number of a variety that no plant has."""
    number = 1
    while StockPlant.known_as(code := f"{variety[:16]}-{number:02}"):
        number += 1
    return code
