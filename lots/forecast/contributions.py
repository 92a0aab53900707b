"""What each effect of a fit adds to lots, and how surely it is known."""

import numpy as np

from lots.forecast import posteriors
from lots.forecast.arrays import Floats
from lots.forecast.lotrows import LATE, MOVED, POT, Known, Lots, indices, shared_columns
from lots.forecast.posteriors import Posterior


def parts(lots: Lots, known: Known, posterior: Posterior) -> dict[str, Floats]:
    """(m,) each: what adds to η beside the handbook, by what does it: `kind` (the nursery as a
    whole, and its crop group by its method), `variety`, `season`, `pot`, `late` and `moved` (how
    its striking went), `time`, and each trait by its name. They add up to the mean of η, less its
    offset, of `lotrows.weights`."""
    at, told = indices(lots, known), shared_columns(lots, known).dense() * posterior.shared
    found = {name: told[:, of].sum(axis=1) for name, of in _columns(known).items()}
    kind = found.pop("kind") + posteriors.take(posterior.core, at.group)
    of_variety = posteriors.take(posterior.variety, at.variety)
    return {"kind": kind, "variety": of_variety + posteriors.take(posterior.cell, at.cell)} | found


def effect(
    known: Known, posterior: Posterior, name: str, word: str, against: str = "", moved: float = 0.0
) -> tuple[float, float] | None:
    """What a word of a trait does to η, less what another does ('' for none): mean and standard
    deviation, with the share of what `moved` striking by so many log days that is the fit's own;
    None where the fit has no lot to tell it by."""
    levels = known.levels.get(name)
    if levels is None or not {word, against} - {""} <= set(levels):
        return None
    columns, told = _columns(known), np.zeros(len(posterior.core))
    for each, sign in ((word, 1.0), (against, -1.0)):
        if each:
            at = columns[name].start + int(np.searchsorted(levels, each))
            told[posterior.groups + at] += sign
    told[posterior.groups + MOVED] = moved
    return float(told @ posterior.core), float(np.sqrt(told @ posterior.core_cov @ told))


def _columns(known: Known) -> dict[str, slice]:
    """Which of the shared effects, in the order of `lotrows.shared_columns`, make each part."""
    found = {
        "kind": slice(0, 1),
        "season": slice(1, POT),
        "pot": slice(POT, LATE),
        "late": slice(LATE, MOVED),
        "moved": slice(MOVED, MOVED + 1),
        "time": slice(MOVED + 1, MOVED + 1 + known.knots),
    }
    first = MOVED + 1 + known.knots
    for name, levels in known.levels.items():
        found[name] = slice(first, first + len(levels))
        first += len(levels)
    return found
