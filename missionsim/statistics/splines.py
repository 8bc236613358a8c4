"""Small regressions of a difference on one figure: a natural cubic spline on numbers, group means on categories."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats

KNOT_SHARES = (0.1, 0.5, 0.9)  # part of the estimator's definition
_SINGULAR = 1e-10


@dataclass(frozen=True, slots=True)
class Basis:
    """What a difference is regressed on: columns made from a figure's values.

    Parameters
    ----------
    knots : tuple of float    Knots in standard units; fewer than three different ones leave a straight line.
    centre, scale : float     Standard units are (value - centre) / scale; scale 0 means a constant alone.
    groups : int              Number of categories; 0 for numbers.
    """

    knots: tuple[float, ...] = ()
    centre: float = 0.0
    scale: float = 0.0
    groups: int = 0

    @property
    def freedom(self) -> int:
        """Number of columns."""
        if self.groups:
            return self.groups
        return 1 if self.scale == 0.0 else 2 + max(0, len(self.knots) - 2)

    def design(self, values: ArrayLike) -> Floats:
        """Return the columns at some values, (n, freedom).

        References
        ----------
        .. [1] T. Hastie, R. Tibshirani, J. Friedman, The Elements of Statistical Learning, 2nd ed., 2009, section
           5.2.1, equations 5.4 and 5.5 (from memory).
        """
        x = np.asarray(values, dtype=np.float64)
        if self.groups:
            return np.asarray(x[:, None] == np.arange(self.groups), dtype=np.float64)
        ones = np.ones_like(x)
        if self.scale == 0.0:
            return ones[:, None]
        z = (x - self.centre) / self.scale
        columns = [ones, z]
        if len(self.knots) > 2:
            last = _from_knot(z, self.knots[-2], self.knots[-1])
            columns += [_from_knot(z, k, self.knots[-1]) - last for k in self.knots[:-2]]
        return np.stack(columns, axis=1)


def number_basis(values: Floats) -> Basis:
    """Return the natural cubic spline with knots at the 10, 50 and 90 % points of the values drawn."""
    centre, scale = float(np.median(values)), float(np.ptp(values))
    if scale == 0.0:
        return Basis()
    knots = np.unique((np.quantile(values, KNOT_SHARES) - centre) / scale)
    return Basis(tuple(float(k) for k in knots), centre, scale)


def group_basis(codes: Floats, groups: int) -> Basis:
    """Return group means over categories coded 0 to groups - 1; a constant where only one was drawn."""
    return Basis(groups=groups) if np.unique(codes).size > 1 else Basis()


def weighted_fits(design: Floats, y: Floats, weights: Floats,
                  ) -> tuple[Floats, Floats]:
    """Return least-squares coefficients and means for many sets of weights at once.

    A column without weight (a category nobody drew) gets the mean. Plain sums instead of a matrix product keep the
    result free of the number of threads.

    Parameters
    ----------
    design : (n, k) array     Columns.
    y : (n,) array            What is fitted.
    weights : (b, n) array    One row a fit.

    Returns
    -------
    coefficients : (b, k) array    About the mean: prediction = mean + design x coefficients.
    means : (b,) array             Weighted means of y.
    """
    means = np.einsum("bn,n->b", weights, y) / weights.sum(axis=1)
    square, right, plain = _weighted_sums(design, y, weights)
    inverse = np.linalg.pinv(square, rcond=_SINGULAR, hermitian=True)
    return np.einsum("bij,bj->bi", inverse, right - plain * means[:, None]), means


def _weighted_sums(design: Floats, y: Floats, weights: Floats) -> tuple[Floats, Floats, Floats]:
    """Return weighted sums over n of design x design (b, k, k), of design x y and of design, (b, k) each.

    Each is added up row by row. With the fits side by side in memory the innermost loop runs over them and not over a
    few columns, each pair of columns counted once: a fifth of the time, the same bits. An axis of one would be left
    out and the sums taken in another order, so that one fit or one column goes the straight way.
    """
    k = design.shape[1]
    if k == 1 or len(weights) == 1:
        products = (design[:, :, None] * design[:, None, :]).reshape(-1, k * k)
        return (np.einsum("bn,nk->bk", weights, products).reshape(-1, k, k),
                np.einsum("bn,nk->bk", weights, design * y[:, None]), np.einsum("bn,nk->bk", weights, design))
    first, second = np.triu_indices(k)
    columns = np.concatenate([(design[:, first] * design[:, second]).T, (design * y[:, None]).T, design.T])
    sums = np.ascontiguousarray(np.einsum("nb,kn->kb", np.ascontiguousarray(weights.T), columns).T)
    square = np.empty((len(weights), k, k))
    square[:, first, second] = square[:, second, first] = sums[:, :len(first)]
    return square, sums[:, -2 * k:-k], sums[:, -k:]


def predicted(design: Floats, fit: tuple[Floats, Floats],
              ) -> Floats:
    """Return the fitted values, (b, n)."""
    coefficients, means = fit
    return np.asarray(means[:, None] + np.einsum("bk,nk->bn", coefficients, design), dtype=np.float64)


def _from_knot(z: Floats, knot: float, last: float) -> Floats:
    cubes = np.maximum(z - knot, 0.0) ** 3 - np.maximum(z - last, 0.0) ** 3
    return np.asarray(cubes / (last - knot), dtype=np.float64)
