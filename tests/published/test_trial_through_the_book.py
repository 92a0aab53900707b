"""Root cuttings of plums, planted at once or in spring: stuck, checked and judged as a trial.

Hoblyn and Palmer (1934); Bartlett (1935), JRSS Supplement 2:248-252.
"""

from datetime import timedelta

import pytest
from django.utils import timezone
from scipy.stats import chi2_contingency

from lots import ledger
from lots.models import Arm
from lots.sticking import side_by_side
from tests import factories
from tests.lots.entries import check, loss
from tests.lots.growing import moment
from tests.published.flat import columns

pytestmark = pytest.mark.django_db
UNITS = 240


def alive():
    """Cuttings alive, of 240, by length and time of planting."""
    data = columns("plum_root_cuttings")
    keys = zip(data["length"], data["time"], strict=True)
    return {key: int(n) for key, n in zip(keys, data["alive"], strict=True)}


def grown(lengths):
    """The trial of the two times, a flat for each length. Each lot is tested whole, and what
    didn't hold is taken out later as dead."""
    by = factories.person()
    root = factories.method(name="root cutting", source_part="root")
    trial = side_by_side.plan(
        factories.session(),
        factories.variety(),
        [Arm(method=root), Arm(method=root, medium="kept till spring")],
        units=UNITS,
        flats=len(lengths),
        seed=1934,
        question="At once or in spring?",
        across=20,
    )
    times = {"A": "at_once", "B": "spring"}
    stuck = []
    for length, bed in zip(lengths, side_by_side.beds(trial), strict=True):
        for lot in bed.lots:
            took = alive()[length, times[lot.arm.letter]]
            on = timezone.localdate() - timedelta(days=100)
            lot = ledger.stick(lot, units=UNITS, on=on, by=by, flat=lot.flat)
            ledger.record(lot, [check(by, UNITS, took, moment(50))])
            stuck.append((lot, took))
    assert side_by_side.result(side_by_side.beds(trial)) is None  # more may strike yet
    for lot, took in stuck:
        ledger.record(lot, [loss(by, UNITS - took, moment(5))])
    return side_by_side.beds(trial)


def test_long_cuttings_at_once_against_spring():
    """156 of 240 against 84: Pearson's X² without correction is 43.2. That of Mantel and Haenszel
    has n - 1 where Pearson's has n."""
    [bed] = found = grown(["long"])
    assert bed.counted == [(156, 240), (84, 240)]
    verdict = side_by_side.result(found)
    assert (verdict.first, verdict.second) == (0.65, 0.35)
    assert verdict.chi2 * 480 / 479 == pytest.approx(43.2, abs=1e-9)
    table = [[156, 84], [84, 156]]
    assert chi2_contingency(table, correction=False).statistic == pytest.approx(43.2)
    assert verdict.odds_ratio == pytest.approx((156 / 84) ** 2)


def test_both_lengths_each_a_flat():
    """Odds ratio 4.177 (3.132 to 5.572), by StratifiedTable of statsmodels 0.15.0."""
    verdict = side_by_side.result(grown(["long", "short"]))
    assert verdict.odds_ratio == pytest.approx(4.17739, abs=1e-5)
    assert (verdict.low, verdict.high) == pytest.approx((3.132, 5.572), abs=1e-3)
