"""The result of a side-by-side trial in plain words."""

import math
from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.forecast.trial import Verdict, least_shown
from lots.models.trial import LETTERS
from lots.sticking.side_by_side import Bed

LEVEL = 0.05  # a difference that chance alone makes less often than this is called one


def in_short(names: Sequence[str], verdict: Verdict) -> str:
    """In a few words. `names`: of the ways of A and of B, as below."""
    better = _better(verdict)
    return (
        _("not told apart") if better is None else _("%(way)s took better") % {"way": names[better]}
    )


def sentences(names: Sequence[str], beds: Sequence[Bed], verdict: Verdict) -> list[str]:
    """What the counted flats say, the claim first, with the evidence behind it."""
    counted = [bed.counted for bed in beds if bed.counted]
    (took_a, stuck_a), (took_b, stuck_b) = (
        [sum(numbers) for numbers in zip(*arm, strict=True)] for arm in zip(*counted, strict=True)
    )
    better = _better(verdict)
    claim = (
        _("The trial doesn't tell them apart.")
        if better is None
        else _("%(letter)s took better: %(way)s.")
        % {"letter": LETTERS[better], "way": names[better]}
    )
    evidence = _(
        "A, %(a)s: %(took_a)s of %(stuck_a)s took (%(share_a)s). "
        "B, %(b)s: %(took_b)s of %(stuck_b)s (%(share_b)s), in %(flats)s."
    ) % {
        "a": names[0],
        "took_a": took_a,
        "stuck_a": stuck_a,
        "share_a": f"{verdict.first:.2f}",
        "b": names[1],
        "took_b": took_b,
        "stuck_b": stuck_b,
        "share_b": f"{verdict.second:.2f}",
        "flats": ngettext("%(n)s flat", "%(n)s flats", len(counted)) % {"n": len(counted)},
    }
    chance = _("If both took alike, chance alone would make so large a difference %(often)s.") % {
        "often": _how_often(verdict.p)
    }
    said = [claim, evidence, chance]
    if better is None:
        share = (took_a + took_b) / (stuck_a + stuck_b)
        said.append(
            _(
                "That doesn't show that they take alike: a trial of so few units finds a "
                "difference of %(difference)s in 8 cases of 10, and a smaller one less often."
            )
            % {"difference": f"{least_shown(stuck_a, stuck_b, share):.2f}"}
        )
    return said


def small_print(verdict: Verdict) -> str:
    """The test by its name and its figures."""
    said = _(
        "Test of Cochran, Mantel and Haenszel, each flat compared within itself: "
        "χ² %(chi2)s with 1 degree of freedom."
    ) % {"chi2": f"{verdict.chi2:.1f}"}
    if not 0 < verdict.odds_ratio < math.inf:
        return said
    odds = _(
        "The odds of taking by A are %(ratio)s times those by B (%(low)s–%(high)s: a range so "
        "reckoned holds the true figure 95 times in 100)."
    ) % {
        "ratio": f"{verdict.odds_ratio:.2f}",
        "low": f"{verdict.low:.2f}",
        "high": f"{verdict.high:.2f}",
    }
    return f"{said} {odds}"


def _better(verdict: Verdict) -> int | None:
    """The number of the arm that took better, by the odds within flats, which is what was tested:
    the pooled shares can mislead. None where chance may well be all."""
    if verdict.p >= LEVEL:
        return None
    return 0 if verdict.odds_ratio > 1 else 1


def _how_often(p: float) -> str:
    if p < 0.001:
        return _("less than once in 1000 times")
    if p < LEVEL:
        return _("%(n)s times in 1000") % {"n": math.ceil(1000 * p)}
    return _("%(n)s times in 100") % {"n": round(100 * p)}
