"""What a want that falls short would need: it is solved once more with the rest of the plan as it
is, and what is limited to be had at a price."""

from dataclasses import dataclass, replace

import numpy as np

from lots.forecast.arrays import Floats
from lots.planning.by_parts import Part
from lots.planning.highs import columns
from lots.planning.problem import MINUTES, RESOURCES, STOCK, Problem, Solution
from lots.planning.programme import Programme

LIMITS = (STOCK, *RESOURCES)
SECONDS = 2.0


@dataclass(frozen=True, slots=True)
class Lift:
    """What would make a want whole: how much more of which limits in each week, (weeks,); of stock,
    pieces. Of several that are needed together the first is the one that binds first."""

    more: dict[str, Floats]

    @property
    def limit(self) -> str:
        return next(iter(self.more), STOCK)


def lift(problem: Problem, solution: Solution, n: int) -> Lift | None:
    """The limits to raise for a want: one alone where one will do, and as little of it as will do;
    else several; none where it costs no more than plants on watch. None where no room would make
    it whole."""
    for limits in (*((limit,) for limit in LIMITS), LIMITS):
        more = _raised(problem, solution, n, limits)
        if more is not None:
            return Lift(more)
    return None


def _raised(
    problem: Problem, solution: Solution, n: int, limits: tuple[str, ...]
) -> dict[str, Floats] | None:
    """How much more of these limits makes a want whole; None where that does not."""
    part = Part(problem, [problem.wants[n].kind])
    others = part.without(solution).used(problem)
    room = {name: np.maximum(problem.room[name] - others[name], 0.0) for name in RESOURCES}
    alone = part.problem(room, problem.already + others[MINUTES])
    own = part.wants.index(n)
    settled = part.of(solution).units
    wants = [
        want
        if at == own
        else replace(want, fixed={w: units for (of, w), units in settled.items() if of == at})
        for at, want in enumerate(alone.wants)
    ]
    programme = Programme(replace(alone, wants=wants))
    more = programme.at_a_price(limits)
    programme.high[programme.short[own]] = 0.0
    values = columns(programme, SECONDS)
    if values is None:
        return None
    found = {limit: np.zeros(problem.weeks) for limit in limits}
    for (limit, week), column in more.items():
        found[limit][week] = max(values[column], 0.0)
    return {limit: weeks for limit, weeks in found.items() if weeks.max() > 1e-6}
