"""The knots of a lattice that places use, and a field at places as sums over them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from missionsim.base.arrays import Floats, Floats32, Ints
from missionsim.world.random_fields.lattice import Lattice, touched

WIDTH = 12
_SHORT = 64   # steps: sums over all places at once instead of place by place, to the same bits


@dataclass(frozen=True)
class Knots:
    """The knots of one lattice that places use, or of two."""

    ids: Ints
    index: Ints          # [p, WIDTH] into ids, twice as many of two lattices
    weight: Floats32     # the same shape

    @classmethod
    def of(cls, spacing_nm: float, lat: Floats, lon: Floats) -> Knots:
        """Return the knots of places."""
        ids, weight = Lattice(spacing_nm).weights(lat, lon, WIDTH)
        used, index = touched(ids)
        return cls(used, index, weight.astype(np.float32))

    @classmethod
    def with_foot(cls, spacing_nm: tuple[float, float], foot_share: float, lat: Floats, lon: Floats) -> Knots:
        """Return the knots of a field that neighbours share closely and whole regions in part.

        Each place has the knots of a narrow lattice and, for the foot of the correlation, those of a wide one. The
        variance stays one; a share of 0 gives the narrow lattice alone.

        Parameters
        ----------
        spacing_nm : (float, float)   Of the narrow and of the wide lattice. [nm]
        foot_share : float            What of the variance comes from the wide one, 0 to 1.
        lat, lon : (place,) arrays    [deg]
        """
        core, foot = Lattice(spacing_nm[0]), Lattice(spacing_nm[1])
        (near, close), (far, broad) = core.weights(lat, lon, WIDTH), foot.weights(lat, lon, WIDTH)
        # Numbered on behind those of the narrow lattice: no knot of one has the luck of a knot of the other.
        used, index = touched(np.concatenate([near, core.size + far], axis=1))
        weight = np.concatenate([np.sqrt(1.0 - foot_share) * close, np.sqrt(foot_share) * broad], axis=1)
        return cls(used, index, weight.astype(np.float32))

    @cached_property
    def by_rank(self) -> tuple[Ints, Floats32]:
        """Index and weight of the nearest knot of every place, of the second nearest, and so on, [WIDTH, p]."""
        return np.ascontiguousarray(self.index.T), np.ascontiguousarray(self.weight.T)


def place_sum(rows: Floats32, knots: Knots, places: Ints) -> Floats32:
    """Return the field at some places from the series of knots, as sums in a fixed order.

    Parameters
    ----------
    rows : (k, t) float32      Series of the knots in use.
    places : (n,) int          Rows of the places wanted.

    Returns
    -------
    (n, t) float32
    """
    weight, index = knots.weight[places], knots.index[places]
    if rows.shape[1] < _SHORT:
        total = rows[index[:, 0]] * weight[:, :1]
        for k in range(1, index.shape[1]):
            total += rows[index[:, k]] * weight[:, k:k + 1]
        return np.asarray(total)
    out = np.empty((places.size, rows.shape[1]), dtype=np.float32)
    held = np.empty(rows.shape[1], dtype=np.float32)
    for target, own, share in zip(out, index.tolist(), weight, strict=True):
        np.multiply(rows[own[0]], share[0], out=target)
        for k in range(1, len(own)):
            np.multiply(rows[own[k]], share[k], out=held)
            np.add(target, held, out=target)
    return out
