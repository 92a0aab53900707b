"""Fits as plain lists and numbers, fit for JSON, and back."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from lots.forecast import residuals
from lots.forecast.lotrows import Known
from lots.forecast.posteriors import Posterior, Taus
from lots.forecast.residuals import Residual

INDICES = ("cells", "group_lots", "cell_lots")
RESIDUALS = ("walks", "plants")


def dump(fit: Any) -> dict[str, Any]:
    """A `durations.Fit` or `takes.Fit` as nested dictionaries of lists, numbers and strings."""
    return {field.name: _plain(getattr(fit, field.name)) for field in fields(fit)}


def load[F](kind: type[F], data: dict[str, Any]) -> F:
    """The fit of the given kind that `dump` made `data` of. Raises KeyError if a part lacks."""
    values = dict(data)
    values["taus"] = Taus(**data["taus"])
    known, posterior = data["known"], data["posterior"]
    whole = {name: np.array(known[name], dtype=np.intp) for name in INDICES}
    words = {name: np.array(known[name], dtype=np.str_) for name in ("groups", "varieties")}
    levels = {name: np.array(of, dtype=np.str_) for name, of in known["levels"].items()}
    values["known"] = Known(**{**known, **whole, **words, "levels": levels})
    # An empty table forgets its width in a list of rows.
    widths = {
        "core_cov": len(posterior["core"]),
        "variety_pull": len(posterior["core"]),
        "cell_pull": len(posterior["core"]) - len(known["groups"]) + 1,
    }
    values |= {name: _residual(data[name]) for name in RESIDUALS if name in data}
    arrays = {name: np.array(value, dtype=float) for name, value in posterior.items()}
    tables = {name: arrays[name].reshape(-1, width) for name, width in widths.items()}
    values["posterior"] = Posterior(**(arrays | tables))
    return kind(**values)


def _residual(data: dict[str, Any]) -> Residual:
    mean = np.array(data["mean"], dtype=float)
    if not data["keys"]:
        return residuals.none()
    return Residual(np.array(data["keys"], np.str_), mean, np.array(data["cov"], dtype=float))


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    return dump(value) if is_dataclass(value) else value
