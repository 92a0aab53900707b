"""Fits as plain lists and numbers, fit for JSON, and back."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from lots.forecast.lotrows import Known
from lots.forecast.posteriors import Posterior, Taus


def dump(fit: Any) -> dict[str, Any]:
    """A `durations.Fit` or `takes.Fit` as nested dictionaries of lists, numbers and strings."""
    return {field.name: _plain(getattr(fit, field.name)) for field in fields(fit)}


def load[F](kind: type[F], data: dict[str, Any]) -> F:
    """The fit of the given kind that `dump` made `data` of. Raises KeyError if a part lacks."""
    values = dict(data)
    values["taus"] = Taus(**data["taus"])
    known, posterior = data["known"], data["posterior"]
    values["known"] = Known(
        groups=np.array(known["groups"], dtype=np.str_),
        varieties=np.array(known["varieties"], dtype=np.str_),
        **{
            name: np.array(known[name], dtype=np.intp)
            for name in ("cells", "group_lots", "cell_lots")
        },
    )
    # An empty table forgets its width in a list of rows.
    widths = {
        "core_cov": len(posterior["core"]),
        "variety_pull": len(posterior["core"]),
        "cell_pull": len(posterior["core"]) - len(known["groups"]) + 1,
    }
    arrays = {name: np.array(value, dtype=float) for name, value in posterior.items()}
    tables = {name: arrays[name].reshape(-1, width) for name, width in widths.items()}
    values["posterior"] = Posterior(**(arrays | tables))
    return kind(**values)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    return dump(value) if is_dataclass(value) else value
