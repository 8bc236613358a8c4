"""How far land is below a flight, and how much of it lies beyond gliding distance of land.

Sea and great lakes only. Bays, sounds and other lakes count as land, and so does whatever lies beyond the packaged
table, where nothing is known. In still air: wind carries a glide as far as it blows. Not for survival planning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from missionsim.base.arrays import Array, Bools
from missionsim.base.assumptions import Assumptions
from missionsim.physics.geodesy import MEAN_RADIUS_NM
from missionsim.physics.units import M_PER_FT
from missionsim.world import data
from missionsim.world.ground.leg_ground import GreatCircle, Point

STEP_NM = 1.0
"""A way is looked at in parts no longer than this; nodes of the packaged table are 2 to 2.5 nm apart. [nm]"""


@dataclass(frozen=True, slots=True)
class Glide:
    """How a flight with its engine stopped comes down.

    `nm_per_1000_ft`: way in still air for a height; `least_nm`: shorter stretches in all are not told, since a climb
    from a field at the shore makes them every day.
    """

    nm_per_1000_ft: float
    least_nm: float

    @classmethod
    def assumed(cls, assumptions: Assumptions) -> Glide:
        """Return the assumed one."""
        return cls(assumptions["terrain.glide_nm_per_1000_ft"], assumptions["terrain.open_water_least_nm"])


@dataclass(frozen=True, slots=True)
class Heights:
    """How flights [...] climb and descend: steadily, from one field and to the other; cut off where they do not fit.

    `level_ft` [ft], `climb_nm` and `descent_nm` [nm] broadcast; `from_ft`, `to_ft`: elevation of the fields. [ft]
    """

    level_ft: Array
    climb_nm: Array
    descent_nm: Array
    from_ft: float
    to_ft: float

    def at(self, gone_nm: Array, left_nm: Array) -> Array:
        """Return altitudes [..., k] at places so far from the ends. [ft]"""
        level = np.asarray(self.level_ft)[..., None]

        def sloping(end_ft: float, away_nm: Array, slope_nm: Array) -> Array:
            share = np.minimum(away_nm / np.maximum(np.asarray(slope_nm)[..., None], 1e-6), 1.0)
            return np.asarray(end_ft + (level - end_ft) * share)

        return np.minimum(sloping(self.from_ft, gone_nm, self.climb_nm), sloping(self.to_ft, left_nm, self.descent_nm))


@dataclass(frozen=True, slots=True, eq=False)
class OverWater:
    """A way cut into k parts: how far land is from the middle of each, and the height of the water. [nm, ft]

    `gone_nm`, `left_nm`: from the start and to the end. `part_nm`: length of each. All [k].
    """

    land_nm: Array
    water_ft: Array
    gone_nm: Array
    left_nm: Array
    part_nm: Array

    def beyond_nm(self, heights: Heights, glide: Glide) -> Array:
        """Return how much of flights along the way is farther from land than they glide. [..., nm]"""
        over_ft = np.maximum(heights.at(self.gone_nm, self.left_nm) - self.water_ft, 0.0)
        beyond = self.land_nm > over_ft * (glide.nm_per_1000_ft / 1000.0)
        return np.asarray((beyond * self.part_nm).sum(axis=-1))


@dataclass(frozen=True, eq=False)
class Water:
    """Nodes of a latitude-longitude grid, north to south and west to east.

    Parameters
    ----------
    land_nm : (rows, columns) float32    Distance of the nearest land, 0 on land. [nm]
    water_ft : (rows, columns) float32   Height of the water's surface, 0 on land. [ft]
    north_deg, west_deg, node_deg : float   The first node, and how far nodes are apart. [deg]
    """

    land_nm: np.ndarray = field(repr=False)
    water_ft: np.ndarray = field(repr=False)
    north_deg: float
    west_deg: float
    node_deg: float

    @staticmethod
    def packaged() -> Water:
        """Return the water that comes with the package."""
        return _packaged()

    def from_land_nm(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> Array:
        """Return how far land is from places, straight between nodes; 0 on land and beyond the table. [nm]"""
        row, column, inside = self._at(lat, lon)
        top = np.minimum(row.astype(int), self.land_nm.shape[0] - 2)
        left = np.minimum(column.astype(int), self.land_nm.shape[1] - 2)
        down, across = row - top, column - left
        grid = self.land_nm
        upper = grid[top, left] * (1.0 - across) + grid[top, left + 1] * across
        lower = grid[top + 1, left] * (1.0 - across) + grid[top + 1, left + 1] * across
        return np.where(inside, upper * (1.0 - down) + lower * down, 0.0)

    def surface_ft(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> Array:
        """Return the height of the water at places, 0 on land and beyond the table. [ft]"""
        row, column, inside = self._at(lat, lon)
        return np.where(inside, self.water_ft[np.rint(row).astype(int), np.rint(column).astype(int)], 0.0)

    def below(self, points: Sequence[Point]) -> OverWater | None:
        """Return what lies below a way through points, None where all of it is land or unknown. [deg]"""
        legs = [GreatCircle.between(a, b) for a, b in pairwise(points)]
        counts = [max(int(np.ceil(leg.angle * MEAN_RADIUS_NM / STEP_NM)), 1) for leg in legs]
        part_nm = np.repeat([leg.angle * MEAN_RADIUS_NM / count for leg, count in zip(legs, counts, strict=True)],
                            counts)
        lat, lon = (np.concatenate(parts) for parts in zip(
            *(leg.at((np.arange(count) + 0.5) / count) for leg, count in zip(legs, counts, strict=True)), strict=True))
        land_nm = self.from_land_nm(lat, lon)
        if not land_nm.any():
            return None
        gone_nm = np.cumsum(part_nm) - 0.5 * part_nm
        return OverWater(land_nm, self.surface_ft(lat, lon), gone_nm, part_nm.sum() - gone_nm, part_nm)

    def _at(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> tuple[Array, Array, Bools]:
        """Return rows and columns of places, with fractions, and which lie inside; those outside stand at the first."""
        row = (self.north_deg - np.asarray(lat, dtype=float)) / self.node_deg
        column = ((np.asarray(lon, dtype=float) - self.west_deg) % 360.0) / self.node_deg
        rows, columns = self.land_nm.shape
        inside = (row >= 0.0) & (row <= rows - 1) & (column <= columns - 1)
        return np.where(inside, row, 0.0), np.where(inside, column, 0.0), inside


@cache
def _packaged() -> Water:
    arrays = data.table("water")
    land_nm = arrays["land_steps"].astype(np.float32) * np.float32(arrays["step_nm"])
    surface_ft = arrays["surface_m"].astype(np.float32) * np.float32(1.0 / M_PER_FT)
    return Water(land_nm, surface_ft, float(arrays["north_deg"]), float(arrays["west_deg"]), float(arrays["node_deg"]))
