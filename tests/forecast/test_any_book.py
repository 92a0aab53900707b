"""Whatever stands in the book, a fit comes of it and its forecasts are in order."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lots.forecast import durations, takes
from tests.forecast.rows import join, lots

KINDS = [("rex, wedge", (28, 49)), ("cane, tip", (16, 32))]
SEEN = st.tuples(
    st.integers(0, 1),  # kind
    st.integers(0, 3),  # variety
    st.integers(0, 1500),  # last look before
    st.one_of(st.integers(0, 60), st.just(np.inf)),  # days from there to the next
    st.integers(1, 366),
)
LOTS = st.lists(SEEN, max_size=25)


def rows_of(found, expected=None):
    each = [
        lots(str(variety), group=KINDS[kind][0], expected=expected or KINDS[kind][1], day=day)
        for kind, variety, _, _, day in found
    ]
    return join(lots(), *each)


@settings(max_examples=40, deadline=None)
@given(LOTS)
def test_any_intervals(found):
    low = np.array([float(lot[2]) for lot in found])
    high = low + [lot[3] + (lot[2] == 0 and lot[3] == 0) for lot in found]
    fit = durations.fit(rows_of(found), low, high)
    days = durations.predict(fit, rows_of([*found, (0, 9, 0, 0, 1), (1, 9, 0, 0, 60)]))
    p10, p50, p90 = (durations.quantile(days, share) for share in (0.1, 0.5, 0.9))
    assert np.isfinite([p10, p50, p90]).all()
    assert ((p10 < p50) & (p50 < p90)).all()


@settings(max_examples=40, deadline=None)
@given(LOTS, st.data())
def test_any_counts(found, data):
    counts = [sorted(data.draw(st.tuples(*[st.integers(0, 80)] * 3))) for _ in found]
    least, most, units = np.array(counts, dtype=int).reshape(-1, 3).T
    fit = takes.fit(rows_of(found, (0.5, 0.9)), units, least, most)
    forecast = takes.predict(fit, rows_of([*found, (0, 9, 0, 0, 1)], (0.5, 0.9)))
    pmf = takes.units_pmf(forecast, np.append(units, 48))
    assert np.isfinite(pmf).all()
    assert np.allclose(pmf.sum(axis=1), 1)
    rate = takes.mean_rate(forecast)
    assert ((rate > 0) & (rate < 1)).all()
