"""Which lots share a flat, and which of them go along when it is carried."""

from lots.models import Lot


def flatmates(lot: Lot) -> list[Lot]:
    """Other lots with cells in the flat in which this one has some."""
    return [mate for mate in _in_flat(lot) if mate.pk != lot.pk]


def carried_along(lot: Lot) -> tuple[list[Lot], list[Lot]]:
    """The flatmates that go along when the flat is carried, since they stand where this lot's
    cells do as far as the book knows; and those that stand elsewhere."""
    # From one reading, so that a flat that is just being carried is found in one piece.
    flat = _in_flat(lot)
    here = {one.place_id for one in flat if one.pk == lot.pk}
    mates = [one for one in flat if one.pk != lot.pk]
    along = [one for one in mates if None in here or one.place_id in {None, *here}]
    return along, [one for one in mates if one not in along]


def _in_flat(lot: Lot) -> list[Lot]:
    if not (lot.flat_id and lot.cells):
        return []
    lots = Lot.objects.filter(flat=lot.flat_id, cells__gt=0)
    return list(lots.select_related("variety", "place").order_by("code"))
