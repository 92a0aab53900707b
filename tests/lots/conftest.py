"""The books of many tests here are alike: what a fit says of the same lots is worked out once."""

import pickle
from collections.abc import Callable
from functools import wraps

import pytest

from lots.forecast import durations, takes

fitted: dict[bytes, object] = {}


def once(fit: Callable) -> Callable:
    """`fit`, which hangs on nothing but what it is given, asked once in a process for each."""

    @wraps(fit)
    def look_up(*given: object) -> object:
        asked = pickle.dumps((fit.__module__, given))
        if asked not in fitted:
            fitted[asked] = fit(*given)
        return fitted[asked]

    return look_up


@pytest.fixture(autouse=True)
def fitted_once(monkeypatch):
    for model in (durations, takes):
        monkeypatch.setattr(model, "fit", once(model.fit))
