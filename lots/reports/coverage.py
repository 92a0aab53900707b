"""How good our forecasts were: shares inside their bands, by stage and crop group."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from lots import outlook
from lots.forecast.proportions import Share, wilson
from lots.outlook.verification import BandHits

STAGES = {"struck": _("struck"), "finished": _("finished"), "take": _("share that took")}


@dataclass(frozen=True)
class CoverageLine:
    """One stage of one crop group, or of all (an empty name), or of one half-year, by its name."""

    stage: str
    group: str
    share: Share


@dataclass(frozen=True)
class Judgement:
    """Forecasts that stand on own lots: a line a stage, lines a stage and group. `handbook`: a
    line a stage for those by the handbook alone; `halves`: a line a stage and half-year of
    sticking, the newest first; `hindsight` of all were worked out later."""

    stages: list[CoverageLine]
    groups: list[CoverageLine]
    handbook: list[CoverageLine]
    halves: list[CoverageLine]
    count: int
    hindsight: int


def judgement() -> Judgement:
    """As it stood at the newest fit."""
    tallies = outlook.verification.newest()
    own = [tally for tally in tallies if tally.basis == "own"]
    groups = sorted({tally.group for tally in own})
    halves = sorted({tally.half for tally in own if tally.half}, reverse=True)
    return Judgement(
        stages=_lines(own, [""]),
        groups=_lines(own, groups),
        handbook=_lines((tally for tally in tallies if tally.basis == "handbook"), [""]),
        halves=[
            replace(line, group=_named(half))
            for half in halves
            for line in _lines((tally for tally in own if tally.half == half), [""])
        ],
        count=sum(tally.count for tally in tallies),
        hindsight=sum(tally.hindsight for tally in tallies),
    )


def _named(half: str) -> str:
    """A half-year, by its first and its last month."""
    first = date.fromisoformat(half)
    last = first.replace(month=first.month + 5)
    return f"{date_format(first, 'M')} – {date_format(last, 'M Y')}"


def _lines(tallies: Iterable[BandHits], groups: list[str]) -> list[CoverageLine]:
    kept = list(tallies)
    lines = []
    for stage in STAGES:
        for group in groups:
            of = [t for t in kept if t.stage == stage and group in ("", t.group)]
            share = wilson(round(sum(t.hits for t in of)), sum(t.count for t in of))
            if share.count:
                lines.append(CoverageLine(stage, group, share))
    return lines
