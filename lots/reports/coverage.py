"""How good our forecasts were: shares inside their bands, by stage and crop group."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from lots import outlook
from lots.forecast.proportions import Share, wilson
from lots.outlook.verification import BandHits

STAGES = {"struck": _("struck"), "finished": _("finished"), "take": _("share that took")}


@dataclass(frozen=True)
class CoverageLine:
    """One stage of one crop group, or of all (an empty name)."""

    stage: str
    group: str
    share: Share


@dataclass(frozen=True)
class Judgement:
    """Forecasts that stand on own lots: a line a stage, lines a stage and group. `handbook`: a
    line a stage for those by the handbook alone; `hindsight` of all were worked out later."""

    stages: list[CoverageLine]
    groups: list[CoverageLine]
    handbook: list[CoverageLine]
    count: int
    hindsight: int


def judgement() -> Judgement:
    """As it stood at the newest fit."""
    tallies = outlook.verification.newest()
    own = [tally for tally in tallies if tally.basis == "own"]
    groups = sorted({tally.group for tally in own})
    return Judgement(
        stages=_lines(own, [""]),
        groups=_lines(own, groups),
        handbook=_lines((tally for tally in tallies if tally.basis == "handbook"), [""]),
        count=sum(tally.count for tally in tallies),
        hindsight=sum(tally.hindsight for tally in tallies),
    )


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
