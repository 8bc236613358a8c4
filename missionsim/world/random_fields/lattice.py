"""A fixed lattice of knots over the globe that carries random fields: places are weighted sums of nearby knots.

Each knot owns a random stream, named by its number. A place reads the same few knots whatever other places
a study has, and every sum is elementwise in a fixed order, so its values never change by a single bit when
places, trips or candidates come and go.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.errors import ValidityError
from missionsim.base.streams import generators
from missionsim.base.words import Stream

EARTH_RADIUS_NM = 3440.065
"""Mean radius of the earth, 6,371.009 km. [nm]"""

_GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))
_REACH = 3.0  # spacings; the 24 nearest knots of this lattice lie well inside
_CHUNK = 256
_BLOCK = 64


@dataclass(frozen=True, slots=True)
class Lattice:
    """Evenly spread knots over the whole globe: a spiral that turns by the golden angle from knot to knot.

    The spiral has no seam at the date line and no crowding at the poles, and its knots are numbered from
    north to south, so those near a latitude are a run of consecutive numbers.

    Parameters
    ----------
    spacing_nm : float   Square root of the area a knot stands for, 20 to 1,000. [nm]

    Raises
    ------
    ValidityError        If the spacing is outside that range.
    """

    spacing_nm: float
    size: int = field(init=False)

    def __post_init__(self) -> None:
        if not 20.0 <= self.spacing_nm <= 1000.0:
            msg = f"Lattice: spacing_nm is {self.spacing_nm}; accepted: 20 to 1,000"
            raise ValidityError(msg)
        object.__setattr__(self, "size", round(4.0 * math.pi * (EARTH_RADIUS_NM / self.spacing_nm) ** 2))

    def positions(self, knot_id: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return latitude and longitude of knots, in degrees."""
        x, y, z = (axis[np.asarray(knot_id)] for axis in _knots(self.size))
        return np.degrees(np.arcsin(z)), np.degrees(np.arctan2(y, x))

    def weights(self, lat: ArrayLike, lon: ArrayLike, width: int = 12,
                ) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Return the nearest knots of each place and their weights.

        The kernel is `(1 - (d/D)^2)^2`, where D is the distance of the next knot that is left out: a knot
        enters and leaves with weight zero, so the field is continuous as a place moves.

        Parameters
        ----------
        lat, lon : (n,) arrays   Places. [deg]
        width : int              Knots per place, 4 to 24.

        Returns
        -------
        (n, width) int64         Knot numbers, nearest first.
        (n, width) float64       Weights; their squares sum to one, so that knots of unit variance give
                                 places of unit variance.

        Raises
        ------
        ValidityError            If width is out of range or a position is not on the globe.
        """
        if not 4 <= width <= 24:
            msg = f"Lattice.weights: width is {width}; accepted: 4 to 24"
            raise ValidityError(msg)
        x, y, z = _unit_vectors(lat, lon)
        ids = np.empty((x.size, width), dtype=np.int64)
        weights = np.empty((x.size, width))
        for start in range(0, x.size, _CHUNK):
            part = slice(start, start + _CHUNK)
            ids[part], weights[part] = self._weigh(x[part], y[part], z[part], width)
        return ids, weights

    def _weigh(self, x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64], width: int,
               ) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        kx, ky, kz = _knots(self.size)
        half = math.ceil(0.5 * self.size * _REACH * self.spacing_nm / EARTH_RADIUS_NM) + 1
        span = min(2 * half + 1, self.size)
        first = np.clip(np.rint((1.0 - z) * 0.5 * self.size).astype(np.int64) - half, 0, self.size - span)
        candidates = first[:, None] + np.arange(span)
        chord2 = (2.0 - 2.0 * (kx[candidates] * x[:, None] + ky[candidates] * y[:, None]
                               + kz[candidates] * z[:, None]))
        near = np.argpartition(chord2, width, axis=1)[:, : width + 1]
        chord2 = np.take_along_axis(chord2, near, axis=1)
        ids = np.take_along_axis(candidates, near, axis=1)
        order = np.lexsort((ids, chord2), axis=1)
        chord2 = np.take_along_axis(chord2, order, axis=1)
        ids = np.take_along_axis(ids, order, axis=1)[:, :width]
        kernel = 1.0 - chord2[:, :width] / chord2[:, width:]
        kernel *= kernel
        total = np.zeros(x.size)
        for k in range(width):
            total += kernel[:, k] * kernel[:, k]
        return ids, kernel / np.sqrt(total)[:, None]

    def correlation(self, lat_a: ArrayLike, lon_a: ArrayLike, lat_b: ArrayLike, lon_b: ArrayLike,
                    width: int = 12) -> NDArray[np.float64]:
        """Return the correlation of the field between places a and b, in closed form from the weights.

        Parameters
        ----------
        lat_a, lon_a, lat_b, lon_b : (n,) arrays   Places. [deg]

        Returns
        -------
        (n,) float64   Sum of the products of the weights on knots that both places share.
        """
        ids_a, weights_a = self.weights(lat_a, lon_a, width)
        ids_b, weights_b = self.weights(lat_b, lon_b, width)
        shared = ids_a[:, :, None] == ids_b[:, None, :]
        return np.asarray((weights_a[:, :, None] * weights_b[:, None, :] * shared).sum(axis=(1, 2)))


def touched(knot_id: ArrayLike) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the knots in use, ascending, and for each entry its index among them (same shape as given)."""
    ids = np.asarray(knot_id, dtype=np.int64)
    unique, inverse = np.unique(ids, return_inverse=True)
    return unique, inverse.reshape(ids.shape)


def ar1_series(seed: int, replication: int, stream: Stream, knot_ids: ArrayLike, n_steps: int,
               phi: float | Sequence[float] | NDArray[Any], components: int = 1, address: Sequence[int] = (),
               quick: bool = False) -> NDArray[np.float32]:
    """Return a first-order autoregressive series of unit variance for each knot, stationary from the start.

    Parameters
    ----------
    seed, replication, stream : see `base.streams.generator`.
    knot_ids : (k,) array     Knots; each draws from its own stream (seed, replication, stream, knot, *address).
    n_steps : int             Rows of time.
    phi : float or (components,) array   Correlation from one step to the next, 0 to below 1, per component.
    components : int          Independent series per knot.
    address : sequence of int Finer address, for instance the number of the lattice among nested ones.
    quick : bool              Drive the recursion by uniform innovations of the same variance, twice as fast.
                              Start, variance and correlations are exact; the excess kurtosis of a knot is
                              -1.2 (1 - phi^2) / (1 + phi^2), and a place's is that times the sum of the
                              fourth powers of its weights: -0.01 where phi is 0.92.

    Returns
    -------
    (n_steps, k, components) float32     A knot's values depend on nothing but its own stream, `n_steps` rows
                              included: a longer series begins with the bits of a shorter one.

    Raises
    ------
    ValidityError             If a phi lies outside 0 to below 1.
    """
    decay = np.broadcast_to(np.asarray(phi, dtype=np.float64), (components,))
    if not ((decay >= 0.0) & (decay < 1.0)).all():
        msg = f"ar1_series: phi is {decay.tolist()}; accepted: 0 to below 1"
        raise ValidityError(msg)
    knots = np.asarray(knot_ids, dtype=np.int64).ravel()
    blocks = -(-n_steps // _BLOCK)
    series = np.zeros((blocks * _BLOCK, len(knots), components), dtype=np.float32)
    scale = np.sqrt(1.0 - decay * decay).astype(np.float32)
    draws = np.empty((n_steps, components), dtype=np.float32)
    for i, random in enumerate(generators(seed, replication, stream, knots, *address)):
        _draw(random, draws, quick)
        series[0, i] = draws[0]
        np.multiply(draws[1:], scale, out=series[1:n_steps, i])
    _recur(series.reshape(blocks, _BLOCK, -1), np.tile(decay, len(knots)))
    return series[:n_steps]


def _draw(random: np.random.Generator, out: NDArray[np.float32], quick: bool) -> None:
    """Fill with draws of unit variance: the first row Gaussian, the rest Gaussian or, if quick, uniform."""
    if not quick:
        random.standard_normal(out=out, dtype=np.float32)
        return
    random.standard_normal(out=out[0], dtype=np.float32)
    random.random(out=out[1:], dtype=np.float32)
    out[1:] -= np.float32(0.5)
    out[1:] *= np.float32(math.sqrt(12.0))


def _recur(blocks: NDArray[np.float32], decay: NDArray[np.float64]) -> None:
    """Turn scaled innovations (block, row, column) into the recursion, in place."""
    # Blocks run side by side, then each takes over the last row of the one before: far fewer calls than row by row.
    step = decay.astype(np.float32)
    held = np.empty_like(blocks[:, 0])
    for j in range(1, blocks.shape[1]):
        np.multiply(blocks[:, j - 1], step, out=held)
        blocks[:, j] += held
    powers = (decay ** np.arange(1, blocks.shape[1] + 1)[:, None]).astype(np.float32)
    carried = np.empty_like(blocks[0])
    for b in range(1, blocks.shape[0]):
        np.multiply(powers, blocks[b - 1, -1], out=carried)
        blocks[b] += carried


def combine(series: NDArray[np.float32], local: NDArray[np.int64], weights: NDArray[Any]) -> NDArray[np.float32]:
    """Return the field's series at places.

    Parameters
    ----------
    series : (t, k) or (t, k, c) float32   Series of the knots in use.
    local : (n, width) int                 Index of each place's knots among those in use, see `touched`.
    weights : (n, width) float             From `Lattice.weights`.

    Returns
    -------
    (t, n) or (t, n, c) float32            Elementwise sums in fixed order, independent of other places.
    """
    scale = weights.astype(np.float32)
    if series.ndim == 3:
        scale = scale[:, :, None]
    total = series[:, local[:, 0]] * scale[:, 0]
    for k in range(1, local.shape[1]):
        total += series[:, local[:, k]] * scale[:, k]
    return np.asarray(total)


def cos_sin(angle_deg: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return cosine and sine of each angle, the same bits wherever in an array it stands.

    The functions of numpy may treat the last few entries of an array otherwise than the rest.
    """
    angles = np.asarray(angle_deg, dtype=np.float64)
    radians = [math.radians(a) for a in angles.ravel().tolist()]
    return (np.array([math.cos(a) for a in radians]).reshape(angles.shape),
            np.array([math.sin(a) for a in radians]).reshape(angles.shape))


@cache
def _knots(size: int) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    number = np.arange(size)
    z = 1.0 - (2.0 * number + 1.0) / size
    ring = np.sqrt(1.0 - z * z)
    turn = np.mod(number * _GOLDEN_ANGLE, 2.0 * math.pi)
    axes = (ring * np.cos(turn), ring * np.sin(turn), z)
    for axis in axes:
        axis.setflags(write=False)
    return axes


def _unit_vectors(lat: ArrayLike, lon: ArrayLike,
                  ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return unit vectors of places."""
    lat_deg = np.atleast_1d(np.asarray(lat, dtype=np.float64)).ravel()
    lon_deg = np.atleast_1d(np.asarray(lon, dtype=np.float64)).ravel()
    if not ((np.abs(lat_deg) <= 90.0) & (np.abs(lon_deg) <= 360.0)).all():
        msg = "Lattice: a position is off the globe; accepted: latitude -90 to 90, longitude -360 to 360 degrees"
        raise ValidityError(msg)
    (ring, z), (cosine, sine) = cos_sin(lat_deg), cos_sin(lon_deg)
    return ring * cosine, ring * sine, z
