import json

import numpy as np
import pytest

from lots.forecast import durations, store, takes
from tests.forecast.rows import lots

EMPTY = np.array([])


@pytest.mark.parametrize("cells", ["", "a", "aabbc"])
def test_a_fit_comes_back_from_json_the_same(cells):
    rows, n = lots(*cells), len(cells)
    new = lots("a", "new")
    fit = durations.fit(rows, np.full(n, 28.0), np.full(n, 35.0))
    back = store.load(durations.Fit, json.loads(json.dumps(store.dump(fit))))
    expected, found = durations.predict(fit, new), durations.predict(back, new)
    assert found.mean.tolist() == expected.mean.tolist()
    assert found.sd.tolist() == expected.sd.tolist()
    assert found.cell_lots.tolist() == expected.cell_lots.tolist()


def test_a_take_too():
    rows = lots("a", "b", expected=(0.5, 0.9))
    fit = takes.fit(rows, np.array([48, 24]), np.array([30, 0]), np.array([30, 20]))
    back = store.load(takes.Fit, json.loads(json.dumps(store.dump(fit))))
    assert takes.predict(back, rows).sd.tolist() == takes.predict(fit, rows).sd.tolist()
    assert back.rho == fit.rho
