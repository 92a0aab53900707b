"""How a kind of record is declared: which of its fields go out of the book and into it, under which
names, and which of them count.

Its CSV file, what `/sync/` takes of it, what the sums are told and what is fetched with it follow
from this, and its form does where it has none of its own.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Carried:
    """A field that a record carries.

    `counts`: `lots.tally` is told of it. `column` and `key` are its names in the CSV file and in
    `/sync/`, where they aren't its own. `empty` is what leaving it out stands for; `later`, that
    files of before don't have it.
    """

    field: str
    counts: bool = False
    column: str = ""
    key: str = ""
    empty: str | None = None
    later: bool = False

    @property
    def in_csv(self) -> str:
        return self.column or self.field

    @property
    def in_sync(self) -> str:
        return self.key or self.field
