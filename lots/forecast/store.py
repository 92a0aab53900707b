"""Fits as plain lists and numbers, fit for JSON, and back."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from lots.forecast.effects import Posterior


def dump(fit: Any) -> dict[str, Any]:
    """A `durations.Fit` or `take.Fit` as nested dictionaries of lists, numbers and strings."""
    return {field.name: _plain(getattr(fit, field.name)) for field in fields(fit)}


def load[F](kind: type[F], data: dict[str, Any]) -> F:
    """The fit of the given kind that `dump` made `data` of. Raises KeyError if a part lacks."""
    values = dict(data)
    shared = np.array(data["posterior"]["shared"], dtype=float)
    shapes = {"cell_pull": (-1, len(shared) + 1), "group_pull": (-1, len(shared))}
    values["posterior"] = Posterior(
        **{
            field.name: np.array(data["posterior"][field.name], dtype=float).reshape(
                shapes.get(field.name, np.shape(data["posterior"][field.name]))
            )
            for field in fields(Posterior)
        }
    )
    for name in ("groups", "cells"):
        values[name] = np.array(data[name], dtype=np.str_)
    for name in ("group_lots", "cell_lots"):
        values[name] = np.array(data[name], dtype=np.intp)
    return kind(**values)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    return dump(value) if is_dataclass(value) else value
