"""A fixed lattice of knots over the globe that carries random fields: places are weighted sums of nearby knots.

Each knot owns a random stream, named by its number. A place reads the same few knots whatever other places
a study has, and every sum is elementwise in a fixed order, so its values never change by a single bit when
places, trips or candidates come and go.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats, Ints
from missionsim.base.errors import ValidityError
from missionsim.physics.geodesy import MEAN_RADIUS_NM

_GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))
_REACH = 3.0  # spacings; the 24 nearest knots of this lattice lie well inside
_CHUNK = 256


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
            raise ValidityError(f"Lattice: spacing_nm is {self.spacing_nm}; accepted: 20 to 1,000")
        object.__setattr__(self, "size", round(4.0 * math.pi * (MEAN_RADIUS_NM / self.spacing_nm) ** 2))

    def weights(self, lat: ArrayLike, lon: ArrayLike, width: int = 12,
                ) -> tuple[Ints, Floats]:
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
            raise ValidityError(f"Lattice.weights: width is {width}; accepted: 4 to 24")
        x, y, z = _unit_vectors(lat, lon)
        ids = np.empty((x.size, width), dtype=np.int64)
        weights = np.empty((x.size, width))
        for start in range(0, x.size, _CHUNK):
            part = slice(start, start + _CHUNK)
            ids[part], weights[part] = self._weigh(x[part], y[part], z[part], width)
        return ids, weights

    def _weigh(self, x: Floats, y: Floats, z: Floats, width: int,
               ) -> tuple[Ints, Floats]:
        kx, ky, kz = _knots(self.size)
        half = math.ceil(0.5 * self.size * _REACH * self.spacing_nm / MEAN_RADIUS_NM) + 1
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
                    width: int = 12) -> Floats:
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


def touched(knot_id: ArrayLike) -> tuple[Ints, Ints]:
    """Return the knots in use, ascending, and for each entry its index among them (same shape as given)."""
    ids = np.asarray(knot_id, dtype=np.int64)
    unique, inverse = np.unique(ids, return_inverse=True)
    return unique, inverse.reshape(ids.shape)


def cos_sin(angle_deg: ArrayLike) -> tuple[Floats, Floats]:
    """Return cosine and sine of each angle, the same bits wherever in an array it stands.

    The functions of numpy may treat the last few entries of an array otherwise than the rest.
    """
    angles = np.asarray(angle_deg, dtype=np.float64)
    radians = [math.radians(a) for a in angles.ravel().tolist()]
    return (np.array([math.cos(a) for a in radians]).reshape(angles.shape),
            np.array([math.sin(a) for a in radians]).reshape(angles.shape))


@cache
def _knots(size: int) -> tuple[Floats, Floats, Floats]:
    number = np.arange(size)
    z = 1.0 - (2.0 * number + 1.0) / size
    ring = np.sqrt(1.0 - z * z)
    turn = np.mod(number * _GOLDEN_ANGLE, 2.0 * math.pi)
    axes = (ring * np.cos(turn), ring * np.sin(turn), z)
    for axis in axes:
        axis.setflags(write=False)
    return axes


def _unit_vectors(lat: ArrayLike, lon: ArrayLike,
                  ) -> tuple[Floats, Floats, Floats]:
    """Return unit vectors of places."""
    lat_deg = np.atleast_1d(np.asarray(lat, dtype=np.float64)).ravel()
    lon_deg = np.atleast_1d(np.asarray(lon, dtype=np.float64)).ravel()
    if not ((np.abs(lat_deg) <= 90.0) & (np.abs(lon_deg) <= 360.0)).all():
        msg = "Lattice: a position is off the globe; accepted: latitude -90 to 90, longitude -360 to 360 degrees"
        raise ValidityError(msg)
    (ring, z), (cosine, sine) = cos_sin(lat_deg), cos_sin(lon_deg)
    return ring * cosine, ring * sine, z
