"""The plan, from whichever way suits its size."""

from lots.planning import by_parts, greedy
from lots.planning.highs import Progress, search
from lots.planning.problem import Problem, Solution
from lots.planning.programme import Programme

# Variables from which on a plan is made in parts.
LARGE = 1500


def solve(problem: Problem, seconds: float, progress: Progress | None = None) -> Solution:
    """The best plan found in so many seconds, with a bound on what any could cost."""
    if not problem.wants:
        return Solution({}, {}, 0.0, True)
    programme = Programme(problem)
    if len(programme.price) > LARGE:
        return by_parts.plan(problem, seconds, progress)
    return search(programme, seconds, greedy.plan(problem), progress)
