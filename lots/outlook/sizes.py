"""Which pots the cuttings of a lot go into: what lots of its kind went into before."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from lots.models import Lot, PotSize, PotUp
from lots.outlook.facts import Facts
from lots.outlook.rows import cell_key, group_key


@dataclass(frozen=True, slots=True)
class Pots:
    """A pot size, by its key, and how many pots a unit makes; None while no such lot was potted."""

    size: int | None = None
    a_unit: float = 1.0


@dataclass(frozen=True, slots=True)
class UsualSizes:
    """The pots that most lots of a variety and method went into, and of a crop group and method."""

    of_cell: Mapping[str, Pots]
    of_group: Mapping[str, Pots]

    def of(self, lot: Facts) -> Pots:
        """The pots of a lot: its own, where it has some, and else those of its kind."""
        if lot.direct_pot_size is not None:
            return Pots(lot.direct_pot_size)
        if lot.pot_size is not None and lot.units_potted:
            return Pots(lot.pot_size, lot.pots_made / lot.units_potted)
        return self.of_cell.get(cell_key(lot)) or self.of_group.get(group_key(lot)) or Pots()


def usual_sizes(lots: Sequence[Facts]) -> UsualSizes:
    """From the lots that were potted up."""
    potted = [lot for lot in lots if lot.units_potted and lot.pot_size is not None]
    return UsualSizes(_usual(potted, cell_key), _usual(potted, group_key))


def _usual(lots: Sequence[Facts], key) -> dict[str, Pots]:
    kinds: dict[str, Counter[int | None]] = {}
    units: Counter[tuple[str, int | None]] = Counter()
    pots: Counter[tuple[str, int | None]] = Counter()
    for lot in lots:
        kinds.setdefault(key(lot), Counter())[lot.pot_size] += 1
        units[key(lot), lot.pot_size] += lot.units_potted
        pots[key(lot), lot.pot_size] += lot.pots_made
    found = {}
    for kind, sizes in kinds.items():
        # Of two that are as usual the one with more units, then the older in the book.
        size = max(sizes, key=lambda size: (sizes[size], units[kind, size], -(size or 0)))
        found[kind] = Pots(size, pots[kind, size] / units[kind, size])
    return found


def dump(sizes: UsualSizes) -> dict[str, Any]:
    """As dictionaries, fit for JSON."""
    return asdict(sizes)


def load(data: dict[str, Any]) -> UsualSizes:
    """What `dump` made the data of."""
    return UsualSizes(
        *(
            {key: Pots(**pots) for key, pots in data[name].items()}
            for name in ("of_cell", "of_group")
        )
    )


def likely_size(lot: Lot) -> PotSize | None:
    """The pot size that a lot goes into, as far as the book tells: its own, or the last that its
    variety went into; the only one of the book, where there is no other."""
    if lot.pot_size:
        return lot.pot_size
    of_variety = PotUp.objects.filter(lot__variety=lot.variety_id, voided_at=None)
    last = of_variety.select_related("pot_size").order_by("-observed_at").first()
    if last:
        return last.pot_size
    sizes = list(PotSize.objects.all()[:2])
    return sizes[0] if len(sizes) == 1 else None
