"""A programme solved by HiGHS (Huangfu and Hall 2018, Math. Prog. Comp. 10, 119–142). It starts
from a quick plan, says how near to the best it is, and can be stopped at any time; then the best so
far is the answer."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import highspy
import numpy as np
from highspy.highs import HighsCallbackEvent

from lots.forecast.arrays import Floats
from lots.planning.problem import RESOURCES, Problem, Solution, cost
from lots.planning.programme import Prices, Programme

# Told the cost of the best plan so far and of what no plan can be cheaper than; True stops it.
type Progress = Callable[[float, float], bool]
# A plan that is nearer to the best than this is as good (a share of its cost).
NEAR = 1e-3


def search(
    programme: Programme,
    seconds: float,
    start: Solution | None = None,
    progress: Progress | None = None,
) -> Solution:
    """The best plan that HiGHS finds in so many seconds, from a start if there is one."""
    problem = programme.problem
    highs = _run(programme, seconds, start, progress)
    info, found = highs.getInfo(), start or Solution({}, {})
    if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
        better = programme.solution(np.array(highs.getSolution().col_value))
        found = min(found, better, key=lambda of: cost(problem, of))
    done = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return replace(found, bound=float(info.mip_dual_bound), done=done)


def columns(programme: Programme, seconds: float) -> Floats | None:
    """(columns,) of the best that HiGHS finds in so many seconds; None where it finds nothing."""
    highs = _run(programme, seconds)
    if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None
    return np.array(highs.getSolution().col_value)


class _Silent(highspy.Highs):
    """HiGHS, which would put its name on standard output when callbacks are enabled: nothing but
    the JSON of a command belongs there."""

    def enableCallbacks(self) -> None:  # noqa: N802
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def _run(
    programme: Programme,
    seconds: float,
    start: Solution | None = None,
    progress: Progress | None = None,
) -> highspy.Highs:
    highs = _Silent()  # type: ignore[no-untyped-call]
    highs.setOptionValue("time_limit", max(seconds, 0.0))
    highs.setOptionValue("mip_rel_gap", NEAR)
    highs.passModel(programme.model())
    if start:
        given = highspy.HighsSolution()
        given.col_value = programme.values(start)
        highs.setSolution(given)
    if progress:
        highs.cbMipInterrupt.subscribe(_told(progress))
    highs.run()
    return highs


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The programme were all things divisible. values: (columns,); cost: no plan costs less;
    prices: what one more of each resource would save."""

    values: Floats
    cost: float
    prices: Prices


def relax(programme: Programme) -> Relaxed:
    lp = programme.model()
    lp.integrality_ = []
    highs = _Silent()  # type: ignore[no-untyped-call]
    highs.passModel(lp)
    highs.run()
    solution = highs.getSolution()
    prices = {name: np.zeros(programme.problem.weeks) for name in RESOURCES}
    for (name, week), row in programme.limits.items():
        prices[name][week] = max(-float(solution.row_dual[row]), 0.0)
    spent = float(highs.getInfo().objective_function_value)
    return Relaxed(np.array(solution.col_value), spent, prices)


def _told(progress: Progress) -> Callable[[HighsCallbackEvent], None]:
    """What HiGHS calls now and then."""

    def tell(event: HighsCallbackEvent) -> None:
        if progress(event.data_out.mip_primal_bound, event.data_out.mip_dual_bound):
            event.interrupt()

    return tell


def gap(problem: Problem, solution: Solution) -> float:
    """By what share of its cost a plan may be dearer than the best; 0 where it costs nothing."""
    spent = cost(problem, solution)
    if solution.bound is None or spent <= 0:
        return 0.0
    return max(spent - max(solution.bound, 0.0), 0.0) / spent
