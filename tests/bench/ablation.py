"""What each effect of the model of days gives, and costs: `python -m tests.bench.ablation`.

Invented nurseries that stay as they are or change (`tests.forecast.changing`), fitted with all
effects and with one left out; a row a kind of nursery, a column a model: how many lots of the year
after came inside the band of 80 in 100, the score over that of one who knows the truth, and the
error over that of the variety's average. Takes some minutes.
"""

from dataclasses import replace
from unittest.mock import patch

import numpy as np

from tests.forecast import scores
from tests.forecast.changing import KINDS, changing
from tests.forecast.test_changing import NURSERIES, of_one

NO_DRIFT = {"walk": (0.0,), "trend": (0.0,)}
ONLY_WALK = {"walk": (0.0, 0.015, 0.03, 0.06), "trend": (0.0,)}


def without(of, *names: str):
    """The nursery with traits that nobody wrote down."""
    lots = {
        name: replace(
            getattr(of, name),
            traits={k: v for k, v in getattr(of, name).traits.items() if k not in names},
        )
        for name in ("struck_lots", "finished_lots", "take_lots")
    }
    return replace(of, **lots)


def figures(of) -> np.ndarray:
    return np.hstack(of_one(of))


MODELS = {
    "all": lambda of: figures(of),
    "no walk, no trend": lambda of: _drifting(of, NO_DRIFT),
    "no trend": lambda of: _drifting(of, ONLY_WALK),
    "none goes its own way": lambda of: _alike(of),
    "no place": lambda of: figures(without(of, "house", "bench")),
    "nothing of what was done": lambda of: figures(without(of, "medium")),
}


def _drifting(of, drifts) -> np.ndarray:
    with patch("lots.forecast.lotrows.DRIFTS", drifts):
        return figures(of)


def _alike(of) -> np.ndarray:
    with patch("lots.forecast.residuals.STEPS", (0.0,)):
        return figures(of)


if __name__ == "__main__":
    print(f"{'':12}" + "".join(f"{name:>26}" for name in MODELS))
    for kind in ["steady", *KINDS, "one crop"]:
        nurseries = [changing(kind, *which) for which in NURSERIES]
        cells = []
        for model in MODELS.values():
            pits, *parts = np.hstack([model(of) for of in nurseries])
            score, best, error, average = (part.mean() for part in parts)
            inside = scores.share_in_band(pits).share
            cells.append(f"{inside:.2f} {score / best:.2f} {error / average:.2f}")
        print(f"{kind:12}" + "".join(f"{cell:>26}" for cell in cells), flush=True)
