"""What is asked to be printed: all that decides a sheet, to be kept and compared."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from labels.stock import LabelStock
from labels.tag import Passport, Tag

FORMAT = 1


@dataclass(frozen=True)
class Order:
    """Tags in their order, how many of each, on which stock, and how the printer is corrected.

    `start` is the first free label of the first page; `offset` in mm (right, down).
    """

    tags: tuple[Tag, ...]
    copies: tuple[int, ...]
    stock: LabelStock
    start: int = 1
    offset: tuple[float, float] = (0.0, 0.0)
    scale: float = 1.0

    @property
    def labels(self) -> int:
        return sum(self.copies)

    @property
    def pages(self) -> int:
        return -(-(self.start - 1 + self.labels) // self.stock.labels_a_page)

    @property
    def key(self) -> str:
        """The same for the same sheet, and another for any other, as this code draws it."""
        asked = json.dumps(as_json(self), sort_keys=True)
        return sha256((_edition() + asked).encode()).hexdigest()


def as_json(order: Order) -> dict[str, Any]:
    """The order in what JSON knows, with the number of the format."""
    plain: dict[str, Any] = json.loads(json.dumps(asdict(order), default=date.isoformat))
    return {"format": FORMAT} | plain


def from_json(plain: Mapping[str, Any]) -> Order:
    """The order that `as_json`, of this version or an older one, was given; what was kept before
    formats had numbers is of the first. Raises ValueError for one that only a newer version knows.
    """
    if plain.get("format", 1) != FORMAT:
        raise ValueError(f"A sheet of format {plain['format']}; this version knows {FORMAT}.")
    return Order(
        tags=tuple(map(_tag, plain["tags"])),
        copies=tuple(plain["copies"]),
        stock=LabelStock(**plain["stock"]),
        start=plain["start"],
        offset=(plain["offset"][0], plain["offset"][1]),
        scale=plain["scale"],
    )


def _tag(plain: Mapping[str, Any]) -> Tag:
    tag = Tag(**plain)
    return replace(
        tag,
        name=tuple((text, italic) for text, italic in plain["name"]),
        stuck_on=date.fromisoformat(plain["stuck_on"]) if plain["stuck_on"] else None,
        notices=tuple(plain["notices"]),
        months=tuple(plain["months"]),
        passport=Passport(**plain["passport"]) if plain["passport"] else None,
    )


@cache
def _edition() -> str:
    """A mark of this room's code: sheets kept by an older version are not taken for today's."""
    sources = sorted(Path(__file__).parent.glob("*.py"))
    return sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()
