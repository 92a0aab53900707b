"""What a tag says: plain facts, in the order in which a person needs them.

A tag of any kind (of a lot, of a pot, of a stock plant) is one `Tag`; what a kind does not have
is left empty. Words that differ between kinds and languages are fields, so that this module needs
no translations of its own.
"""

from dataclasses import dataclass
from datetime import date

type Runs = tuple[tuple[str, bool], ...]
"""A name as pieces of text, each with whether it is set in italics: a botanical name in
cultivated-plant form is ``(("Begonia rex ", True), ("'Silver Moth'", False))``."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Passport:
    """What an EU plant passport says: Regulation (EU) 2016/2031, Annex VII, Part A (1).

    `words` are "Plant Passport" in an official language of the Union, empty if that is English.
    Letter A is the tag's name; `operator` is B (two letters of the Member State, a hyphen and the
    registration number), `trace` C, and `origin` D, which may be empty.
    """

    words: str
    operator: str
    trace: str
    origin: str = ""


@dataclass(frozen=True)
class Tag:
    """The facts on one tag.

    `code` is the code without its hyphen; `address` is the whole address that the QR carries.
    `stuck_on` is printed after `day_word`, with its ISO week: a pot's tag may say "Potted", a
    stock plant's "Since". `notices` are short lines that matter to who handles or buys the plant
    (a protected variety, harmful to pets); `nursery` is the nursery's own line; `passport`
    stands in a frame of its own.
    """

    name: Runs
    code: str
    address: str
    stuck_on: date | None = None
    method: str = ""
    count: str = ""
    initials: str = ""
    flat: str = ""
    place: str = ""
    notices: tuple[str, ...] = ()
    nursery: str = ""
    passport: Passport | None = None
    day_word: str = "Stuck"
    week_sign: str = "W"
    months: tuple[str, ...] = MONTHS


def plain(name: Runs) -> str:
    """The name without its italics."""
    return "".join(text for text, _ in name)


def grouped(code: str) -> str:
    """The code as it is shown: two groups of three, ``7K3-QF2``; another length, or one with signs
    of its own, stays as it is."""
    return f"{code[:3]}-{code[3:]}" if len(code) == 6 and code.isalnum() else code


def iso_week(day: date, sign: str = "W") -> str:
    """The ISO 8601 week of a day, ``W10``: weeks start on Monday, week 1 holds the first Thursday.

    The year is not said: it stands beside, in the date.
    """
    return f"{sign}{day.isocalendar().week:02d}"


def day_line(tag: Tag) -> tuple[str, ...]:
    """The date and its week, ``("Stuck 2 Mar 2026", "W10")``; empty if the tag has no date."""
    day = tag.stuck_on
    if day is None:
        return ()
    written = f"{tag.day_word} {day.day} {tag.months[day.month - 1]} {day.year}".strip()
    return written, iso_week(day, tag.week_sign)
