"""Lots for tests."""

import numpy as np

from lots.forecast.lotrows import Lots


def lots(*varieties, group="rex, wedge", expected=(28, 49), day=np.nan, pot=np.nan):
    """One lot for each variety key, all of one group."""
    n = len(varieties)
    return Lots(
        group=np.array([group] * n, dtype=np.str_),
        variety=np.array(varieties, dtype=np.str_),
        day_of_year=np.full(n, float(day)),
        expected_low=np.full(n, float(expected[0])),
        expected_high=np.full(n, float(expected[1])),
        pot_cm=np.full(n, float(pot)),
        pot_var=np.zeros(n),
        late=np.zeros(n),
        late_var=np.zeros(n),
        moved=np.zeros(n),
        day=np.full(n, np.nan),
        traits={},
    )


def join(*parts):
    plain = [name for name in Lots.__slots__ if name != "traits"]
    return Lots(*(np.concatenate([getattr(p, name) for p in parts]) for name in plain), {})
