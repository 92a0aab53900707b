"""Why a target falls short, and what would lift it: worked out, not guessed."""

import math
from datetime import timedelta

import numpy as np
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.forecast.arrays import Floats
from lots.models import Lot
from lots.planning import enough, lifting
from lots.planning.problem import FLATS, MINUTES, STOCK, Problem, Solution
from lots.supply.need import NO_MORE_THAN
from lots.supply.plan.reading import Reading
from lots.supply.plan.wants import Series, Wanted

FARTHEST = 3 * 366  # days from today that are looked at for a day that would do


def why(
    reading: Reading,
    problem: Problem,
    solution: Solution,
    series: Series,
    want: Wanted,
    n: int | None,
) -> tuple[str, str]:
    """The limit that binds, and a sentence that says what would lift it."""
    variety = want.target.variety
    if not variety.may_be_stuck:
        return "licence", _(
            "%(variety)s is protected: enter the reference of the licence to propagate it."
        ) % {"variety": variety}
    if series.method is None:
        return "take", _("The book has no method yet: enter one, and the plan can count on it.")
    if want.never:
        return "take", _(
            "By %(method)s so few take that no number is sure enough: ask for less, or less surely."
        ) % {"method": series.method}
    if n is None:
        return "time", _too_late(series, want)
    if not any(group.kind == problem.wants[n].kind for group in problem.plants):
        return STOCK, f"{_no_plants(want, problem, n)} {_could_be_kept(want)}".strip()
    lifted = lifting.lift(problem, solution, n)
    if lifted is None:
        return "time", _too_late(series, want)
    if not lifted.more:
        return STOCK, _("Its last pieces would have to come of plants on watch.")
    says = [_more(reading, problem, limit, weeks, n) for limit, weeks in lifted.more.items()]
    told = _("It would be met with %(more)s.") % {"more": _(" and ").join(says)}
    if STOCK in lifted.more:
        told = f"{told} {_to_keep(reading, problem, want, n, lifted.more[STOCK])}".strip()
    return lifted.limit, told


def _too_late(series: Series, want: Wanted) -> str:
    """From which day on it could be wanted, stuck now."""
    today = series.horizon.last(0)
    at_any_time = enough.share(want.lot, series.kinds[0], series.kinds[0], np.inf)
    most = enough.least_units(want.needs, at_any_time, want.sure)
    low, high = 0, FARTHEST
    while high - low > 1:
        middle = (low + high) // 2
        chance = enough.share(want.lot, series.kinds[0], series.kinds[0], middle)
        units = enough.least_units(want.needs, chance, want.sure)
        if units is not None and units <= NO_MORE_THAN * most:
            high = middle
        else:
            low = middle
    return _("Stuck this week it would be met by %(day)s: ask for it then.") % {
        "day": date_format(today + timedelta(days=high))
    }


def _no_plants(want: Wanted, problem: Problem, n: int) -> str:
    of = problem.wants[n]
    pieces = min(choice.units for choice in of.choices) * of.pieces
    return ngettext(
        "No stock plant of %(variety)s can be cut, or the book doesn’t say how many pieces a cut "
        "gives: %(n)s piece is needed.",
        "No stock plant of %(variety)s can be cut, or the book doesn’t say how many pieces a cut "
        "gives: %(n)s pieces are needed.",
        pieces,
    ) % {"variety": want.target.variety, "n": pieces}


def _more(reading: Reading, problem: Problem, limit: str, weeks: Floats, n: int) -> str:
    """So much more of a limit, and when."""
    horizon, most = reading.horizon, float(weeks.max())
    there = np.flatnonzero(weeks > 1e-6)
    first, last = (horizon.name(int(week)) for week in (there[0], there[-1]))
    when = {"first": first, "last": last}
    if limit == STOCK:
        return _stock(problem, math.ceil(float(weeks.sum()) - 1e-6), last, n)
    if limit == FLATS:
        n_flats = math.ceil(most - 1e-6)
        says = ngettext("%(n)s flat more", "%(n)s flats more", n_flats) % {"n": n_flats}
    elif limit == MINUTES:
        minutes = math.ceil(most - 1e-6)
        says = ngettext("%(n)s minute more", "%(n)s minutes more", minutes) % {"n": minutes}
    else:
        says = _("%(area)s m² more for pots") % {"area": f"{math.ceil(100 * most - 1e-6) / 100:g}"}
    if first == last:
        return _("%(much)s in %(first)s") % (when | {"much": says})
    return _("%(much)s from %(first)s to %(last)s") % (when | {"much": says})


def _stock(problem: Problem, pieces: int, last: str, n: int) -> str:
    """Pieces, and the plants that would give them."""
    more = _plants_for(problem, n, pieces)
    says = ngettext(
        "%(pieces)s pieces more by %(last)s, as of %(n)s plant more",
        "%(pieces)s pieces more by %(last)s, as of %(n)s plants more",
        more,
    )
    return says % {"pieces": pieces, "last": last, "n": more}


def _plants_for(problem: Problem, n: int, pieces: int) -> int:
    kind = problem.wants[n].kind
    return -(-pieces // max(group.pieces for group in problem.plants if group.kind == kind))


def _to_keep(reading: Reading, problem: Problem, want: Wanted, n: int, weeks: Floats) -> str:
    """How many pots to keep for stock, of which lot and by when: a pot that is kept is first cut
    after as long a rest as a plant that was cut (common practice, no source)."""
    lot = _lot_to_keep(want)
    if lot is None:
        return ""
    pots = _plants_for(problem, n, math.ceil(float(weeks.sum()) - 1e-6))
    kind = problem.wants[n].kind
    rest = max(group.rest for group in problem.plants if group.kind == kind)
    by = int(np.flatnonzero(weeks > 1e-6)[-1]) - rest
    words = {"n": pots, "lot": lot, "week": reading.horizon.name(max(by, 0)), "rest": rest}
    if by >= 0:
        return (
            ngettext(
                "Keep %(n)s pot of lot %(lot)s for stock by %(week)s.",
                "Keep %(n)s pots of lot %(lot)s for stock by %(week)s.",
                pots,
            )
            % words
        )
    return (
        ngettext(
            "%(n)s pot of lot %(lot)s kept for stock now would be ready too late: it is cut after "
            "%(rest)s weeks at the earliest.",
            "%(n)s pots of lot %(lot)s kept for stock now would be ready too late: they are cut "
            "after %(rest)s weeks at the earliest.",
            pots,
        )
        % words
    )


def _could_be_kept(want: Wanted) -> str:
    lot = _lot_to_keep(want)
    return _("Pots of lot %(lot)s could be kept for stock.") % {"lot": lot} if lot else ""


def _lot_to_keep(want: Wanted) -> Lot | None:
    """The lot that has most pots which could be kept for stock: finished ones, else growing."""
    lots = Lot.objects.filter(variety=want.target.variety_id)
    lot = lots.filter(pots_finished__gt=0).order_by("-pots_finished", "code").first()
    return lot or lots.filter(pots_growing__gt=0).order_by("-pots_growing", "code").first()
