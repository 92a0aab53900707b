"""What the trade expects of a kind of plant and a way of cutting, before any lot of one's own is on
record.

`handbook.csv` has a row a kind and method. Days are counted from sticking: where a source
counts from potting up a rooted liner, the weeks from sticking to potting up are added. A range
is the central 80 % of lots. The take is the share of units stuck that strike and live, for leaf
pieces those that also shoot. Each row names its source; `grade` is `published`,
`common practice` or `from memory`. A row without kind and method stands for its source part.

A book's crop groups and methods have names of their own: which kind and method of the handbook
they are like is chosen in the book, and only proposed by their names.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Range:
    """Central 80 % of something: days, or a share between 0 and 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Expectation:
    """A row: days from sticking to struck and to finished, share that takes, and who says so.

    A row of a source part has neither kind nor method. `fallback` is set when there was no row
    for the kind and method asked for and the source part's stands in.
    """

    kind: str
    method: str
    source_part: str
    struck: Range
    finished: Range
    take: Range
    source: str
    grade: str
    fallback: bool

    @property
    def told(self) -> str:
        """Its source, beginning with its grade."""
        if self.source.casefold().startswith(self.grade):
            return self.source
        return f"{self.grade.capitalize()}: {self.source}"


def rows() -> tuple[Expectation, ...]:
    """All rows of a kind and method, in the order of the file: kind by kind."""
    return tuple(_book()[0].values())


def parts() -> tuple[Expectation, ...]:
    """The wide rows, one a source part."""
    return tuple(_book()[1].values())


def kinds() -> tuple[str, ...]:
    """The kinds of plant that it has rows for."""
    return tuple(dict.fromkeys(row.kind for row in rows()))


def methods() -> tuple[str, ...]:
    """The ways of cutting that it has rows for, of whatever kind."""
    return tuple(dict.fromkeys(row.method for row in rows()))


def propose_kind(name: str) -> str:
    """The kind that a crop group of this name is likely to root like; empty if there is none.

    Names match whatever their case, hyphens, plural or order of words.
    """
    return _alike(name, kinds())


def propose_method(name: str) -> str:
    """The method that one of this name is likely to be cut like; empty if there is none."""
    return _alike(name, methods())


def expect(kind: str, method: str, source_part: str) -> Expectation:
    """The row for a kind and method, named as they are here, or for the source part if there is
    none. Raises ValueError for a source part that the handbook doesn't know."""
    row = _book()[0].get((kind, method))
    return row or replace(expect_part(source_part), fallback=True)


def expect_part(source_part: str) -> Expectation:
    """The wide row for a source part. Raises ValueError for one the handbook doesn't know."""
    known = _book()[1]
    row = known.get(source_part.strip().casefold())
    if row is None:
        raise ValueError(
            f"The handbook knows no source part {source_part!r}: it has {', '.join(known)}."
        )
    return row


def _alike(name: str, known: Iterable[str]) -> str:
    words = _words(name)
    return next((each for each in known if words and _words(each) == words), "")


@cache
def _words(name: str) -> frozenset[str]:
    """The words of a name: "Tip cuttings" is "tip-cutting", "Begonia rex" a rex begonia."""
    words = re.findall(r"[^\W_]+", name.casefold())
    singular = {word[:-1] if word.endswith("s") else word for word in words}
    return frozenset(singular - {"cutting"})


@cache
def _book() -> tuple[dict[tuple[str, str], Expectation], dict[str, Expectation]]:
    """Rows by kind and method, and rows by source part."""
    named: dict[tuple[str, str], Expectation] = {}
    wide: dict[str, Expectation] = {}
    with Path(__file__).with_name("handbook.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            expectation = Expectation(
                kind=row["group"],
                method=row["method"],
                source_part=row["source_part"],
                struck=_range(row, "struck"),
                finished=_range(row, "finished"),
                take=_range(row, "take"),
                source=row["source"],
                grade=row["grade"],
                fallback=False,
            )
            if row["group"]:
                named[row["group"], row["method"]] = expectation
            else:
                wide[row["source_part"]] = expectation
    return named, wide


def _range(row: dict[str, str], what: str) -> Range:
    return Range(float(row[f"{what}_low"]), float(row[f"{what}_high"]))
