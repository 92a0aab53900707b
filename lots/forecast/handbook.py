"""What the trade expects of a crop group and method, before any lot of one's own is on record.

`handbook.csv` has a row a group and method. Days are counted from sticking: where a source
counts from potting up a rooted liner, the weeks from sticking to potting up are added. A range
is the central 80 % of lots. The take is the share of units stuck that strike and live, for leaf
pieces those that also shoot. Each row names its source; `grade` is `published`,
`common practice` or `from memory`. A row without group and method stands for its source part.
"""

import csv
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from lots.forecast import lognormal
from lots.forecast.lognormal import Quantiles, Range

__all__ = ["Expectation", "Quantiles", "Range", "expect", "expect_part", "forecast"]

type Key = frozenset[str]


@dataclass(frozen=True, slots=True)
class Expectation:
    """A row: days from sticking to struck and to finished, share that takes, and who says so.

    `fallback` is set when there was no row for the group and method and the source part's
    stands in.
    """

    struck: Range
    finished: Range
    take: Range
    source: str
    grade: str
    fallback: bool


def expect(group: str, method: str, source_part: str) -> Expectation:
    """The row for a crop group and method, or for the source part if there is none.

    Names match whatever their case, hyphens, plural or order of words. Raises ValueError for a
    source part that the handbook doesn't know.
    """
    row = _rows()[0].get((_key(group), _key(method)))
    return row or replace(expect_part(source_part), fallback=True)


def expect_part(source_part: str) -> Expectation:
    """The wide row for a source part. Raises ValueError for one the handbook doesn't know."""
    parts = _rows()[1]
    row = parts.get(source_part.strip().casefold())
    if row is None:
        raise ValueError(
            f"The handbook knows no source part {source_part!r}: it has {', '.join(parts)}."
        )
    return row


def forecast(days: Range) -> Quantiles:
    """Days with a chance of 10, 50 and 90 in 100, of the log-normal that the range stands for."""
    return lognormal.quantiles(*lognormal.from_range(days))


def _key(name: str) -> Key:
    """The words of a name: "Tip cuttings" is "tip-cutting", "Begonia rex" a rex begonia."""
    words = re.findall(r"[^\W_]+", name.casefold())
    singular = {word[:-1] if word.endswith("s") else word for word in words}
    return frozenset(singular - {"cutting"})


@cache
def _rows() -> tuple[dict[tuple[Key, Key], Expectation], dict[str, Expectation]]:
    """Rows by group and method, and rows by source part."""
    methods: dict[tuple[Key, Key], Expectation] = {}
    parts: dict[str, Expectation] = {}
    with Path(__file__).with_name("handbook.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            expectation = Expectation(
                struck=_range(row, "struck"),
                finished=_range(row, "finished"),
                take=_range(row, "take"),
                source=row["source"],
                grade=row["grade"],
                fallback=False,
            )
            if row["group"]:
                methods[_key(row["group"]), _key(row["method"])] = expectation
            else:
                parts[row["source_part"]] = expectation
    return methods, parts


def _range(row: dict[str, str], what: str) -> Range:
    return Range(float(row[f"{what}_low"]), float(row[f"{what}_high"]))
