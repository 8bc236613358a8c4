"""The chance that weather is below minima anywhere along a route, given a forecast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.normal import normal_cdf
from missionsim.world.random_fields.field import Knots, Part
from missionsim.world.surface.climate import SurfaceClimate

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_SURE = 8.0


@dataclass(frozen=True, slots=True)
class RouteErrors:
    """How much forecast errors at the points of a route go together.

    Parameters
    ----------
    parts : tuple of Part
    shared : (parts, parts) float64   Mean products of the parts' correlations between different points.
    """

    parts: tuple[Part, ...]
    shared: NDArray[np.float64]

    @classmethod
    def of(cls, climate: SurfaceClimate, places: ArrayLike) -> RouteErrors:
        """Return the errors' togetherness for a route through places (rows of the climate)."""
        rows = np.asarray(places, dtype=np.int64)
        plan = climate.latent_plan
        pairs = [_pair_correlations(knots, rows) for knots in plan.knots]
        return cls(plan.parts, np.array([[float((a * b).mean()) if a.size else 0.0 for b in pairs] for a in pairs]))

    def correlation(self, lead_h: ArrayLike) -> NDArray[np.float64]:
        """Return the root-mean-square correlation of forecast errors between points of the route, by hours ahead.

        The mean square rather than the mean, since neighbouring points, which go together most, make up most of what
        several points share.
        """
        beyond = [np.maximum(np.asarray(lead_h, dtype=np.float64) - part.known_h, 0.0) for part in self.parts]
        errors = [part.share * -np.expm1(-2.0 * b / part.e_fold_h) for part, b in zip(self.parts, beyond, strict=True)]
        total = sum(errors, np.full(np.shape(lead_h), 1e-12))
        square = np.zeros(np.shape(lead_h))
        for j, first in enumerate(errors):
            for k, second in enumerate(errors):
                square = square + first * second * self.shared[j, k]
        return np.asarray(np.sqrt(square) / total)


def chance_any(margin: ArrayLike, correlation: ArrayLike) -> NDArray[np.float64]:
    """Return the chance that at least one of several points is below minima.

    Parameters
    ----------
    margin : (n, k) array        (threshold - forecast mean) / forecast deviation at each point; -inf pads.
    correlation : (n,) array     Of the forecast errors between points, 0 to 1; see `RouteErrors`.

    Returns
    -------
    (n,) float64   By conditioning on one common error: points are independent given it. Quadrature of 7 nodes.
    """
    margins = np.clip(np.asarray(margin, dtype=np.float64), -_SURE, _SURE)
    common = np.clip(np.asarray(correlation, dtype=np.float64), 0.0, 0.98)[:, None]
    clear = np.zeros(margins.shape[0])
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        below = normal_cdf((margins - np.sqrt(common) * node) / np.sqrt(1.0 - common))
        clear += weight * np.prod(1.0 - below, axis=1)
    return np.clip(1.0 - clear, 0.0, 1.0)


def _pair_correlations(knots: Knots | None, rows: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the correlation of one part between every two different points."""
    pairs = np.triu_indices(rows.size, 1)
    if knots is None:
        return np.zeros(pairs[0].size)
    dense = np.zeros((rows.size, knots.ids.size))
    np.put_along_axis(dense, knots.index[rows], knots.weight[rows].astype(np.float64), axis=1)
    return np.asarray((dense @ dense.T)[pairs])
