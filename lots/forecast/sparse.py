"""A matrix of which each row has few entries, as many in every row."""

from dataclasses import dataclass

import numpy as np

from lots.forecast.arrays import Floats, Ints


@dataclass(frozen=True, slots=True)
class Sparse:
    """(n, width), with `values` (n, r) at `columns` (n, r); no column twice in a row, but for
    values of 0."""

    columns: Ints
    values: Floats
    width: int

    def times(self, vector: Floats) -> Floats:
        """(n,): the matrix times a vector (width,)."""
        return np.asarray((self.values * vector[self.columns]).sum(axis=1))

    def sums(self, weights: Floats) -> Floats:
        """(width,): its rows, each times its weight (n,), summed."""
        weighted = self.values * weights[:, None]
        return np.bincount(self.columns.ravel(), weighted.ravel(), self.width)

    def dense(self) -> Floats:
        found = np.zeros((len(self.columns), self.width))
        np.add.at(found, (np.arange(len(found))[:, None], self.columns), self.values)
        return found


def of_dense(values: Floats) -> Sparse:
    """A dense matrix (n, width), every entry of it."""
    n, width = values.shape
    return Sparse(np.tile(np.arange(width), (n, 1)), values, width)


def side_by_side(*parts: Sparse) -> Sparse:
    """The columns of several matrices of as many rows, one after the other."""
    before = np.cumsum([0, *(part.width for part in parts)])
    columns = [part.columns + start for part, start in zip(parts, before, strict=False)]
    values = np.concatenate([part.values for part in parts], axis=1)
    return Sparse(np.concatenate(columns, axis=1), values, int(before[-1]))
