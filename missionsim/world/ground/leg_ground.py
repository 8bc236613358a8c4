"""What the ground below straight legs requires of a flight, looked at closely only where cells leave it open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from math import ceil, floor, inf

import numpy as np

from missionsim.physics.geodesy import MEAN_RADIUS_NM, haversine_nm, unit_vectors
from missionsim.world.ground.clearance import Clearance
from missionsim.world.ground.terrain import NM_PER_DEG, Terrain

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class GreatCircle:
    """A straight leg between two places, on a sphere: within 0.3 nm of the geodesic.

    `angle`: its length, 0 where both places are the same. [rad]
    """

    start: Point
    angle: float
    from_centre: np.ndarray
    side: np.ndarray

    @classmethod
    def between(cls, a: Point, b: Point) -> GreatCircle:
        """Return the leg from one place to another."""
        turned = np.radians((*a, *b))
        (c1, d1, c2, d2), (s1, t1, s2, t2) = np.cos(turned).tolist(), np.sin(turned).tolist()
        x1, y1, x2, y2 = c1 * d1, c1 * t1, c2 * d2, c2 * t2
        p, q = np.array([x1, y1, s1]), np.array([x2, y2, s2])
        square = np.array([y1 * s2 - s1 * y2, s1 * x2 - x1 * s2, x1 * y2 - y1 * x2])
        angle = float(np.arctan2(np.sqrt(square @ square), p @ q))
        if angle < 1e-9:
            return cls(a, 0.0, p, p)
        return cls(a, angle, p, (q - p * np.cos(angle)) / np.sin(angle))

    def fractions(self, step_nm: float) -> np.ndarray:
        """Return fractions of the leg no farther apart than a step, both ends included; the ground is looked at there.

        Parameters
        ----------
        step_nm : float   Longest step. [nm]
        """
        count = max(ceil(self.angle * MEAN_RADIUS_NM / step_nm), 1)
        found = np.arange(count + 1) * (1.0 / count)
        found[-1] = 1.0
        return found

    def at(self, fraction: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return latitude and longitude at fractions of the leg. [deg]"""
        if not self.angle:
            return np.full(fraction.shape, self.start[0]), np.full(fraction.shape, self.start[1])
        lat, lon = self._radians(fraction * self.angle)
        return np.degrees(lat), np.degrees(lon)

    def course_deg(self, fraction: np.ndarray) -> np.ndarray:
        """Return the true course at fractions of the leg. [deg]"""
        if not self.angle:
            return np.zeros(fraction.shape)
        turn = fraction * self.angle
        lat, lon = self._radians(turn)
        ahead = self.side[:, None] * np.cos(turn) - self.from_centre[:, None] * np.sin(turn)
        east = -np.sin(lon) * ahead[0] + np.cos(lon) * ahead[1]
        north = ahead[2] * np.cos(lat) - np.sin(lat) * (np.cos(lon) * ahead[0] + np.sin(lon) * ahead[1])
        return np.asarray(np.degrees(np.arctan2(east, north)) % 360.0)

    def _radians(self, turn: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        x, y, z = self.from_centre[:, None] * np.cos(turn) + self.side[:, None] * np.sin(turn)
        return np.arctan2(z, np.hypot(x, y)), np.arctan2(y, x)


@dataclass(frozen=True, slots=True)
class Ends:
    """Both ends of a route, and how far from each the ground does not count. [deg, nm]"""

    lat: np.ndarray
    lon: np.ndarray
    nearest_nm: np.ndarray

    @classmethod
    def of(cls, terrain: Terrain, points: Sequence[Point], rule: Clearance) -> Ends:
        """Return the ends of a way through points."""
        ends = points[0], points[-1]
        lat, lon = np.array(ends).T[:, :, None]
        return cls(lat, lon, np.array(end_distances(terrain, ends, rule))[:, None])

    def counted(self, lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
        """Tell where the ground counts."""
        return np.asarray((haversine_nm(lat, lon, self.lat, self.lon) > self.nearest_nm).all(axis=0))


def end_distances(terrain: Terrain, ends: tuple[Point, Point], rule: Clearance) -> tuple[float, float]:
    """Return how far from each end the ground does not count. [nm]."""
    first, second = (rule.mountain_end_distance_nm if terrain.mountainous(*end) else rule.end_distance_nm
                     for end in ends)
    return first, second


class LegsFrom:
    """Straight legs between points of a way, many from one of them looked at together.

    Parameters
    ----------
    terrain : Terrain
    points : sequence of Point   Both ends of the way first and last.
    rule : Clearance
    level_ft : float             Level. [ft]
    """

    def __init__(self, terrain: Terrain, points: Sequence[Point], rule: Clearance, level_ft: float) -> None:
        self.terrain, self.rule, self.level_ft = terrain, rule, level_ft
        self.ends = Ends.of(terrain, points, rule)
        self.vectors = unit_vectors(*np.array(points).T)

    def clear(self, start: int, stops: Sequence[int]) -> list[bool]:
        """Tell which straight legs from one point to others are clear; unknown ground away from the ends is not."""
        leg, lat, lon = self._looked(self.vectors[start], self.vectors[list(stops)])
        cell = self.terrain.number_of(lat, lon)
        least_ft, most_ft = _bounds(self.terrain, self.rule)
        clear = np.ones(len(stops), dtype=bool)
        open_ = np.flatnonzero(most_ft.take(cell) > self.level_ft)
        if open_.size:
            open_ = open_[self.ends.counted(lat[open_], lon[open_])]
        if open_.size:
            clear[leg[open_[least_ft.take(cell[open_]) > self.level_ft]]] = False
            open_ = open_[clear[leg[open_]]]
        if open_.size:
            required = required_ft(self.terrain, lat[open_], lon[open_], self.rule)
            clear[leg[open_[~(required <= self.level_ft)]]] = False
        return [bool(c) for c in clear]

    def _looked(self, start: np.ndarray, stops: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return the places at which the ground is looked at: number of the leg, latitude and longitude. [deg]"""
        along = stops @ start
        aside = stops - along[:, None] * start
        across = np.sqrt((aside * aside).sum(axis=1))
        angle = np.arctan2(across, along)
        count = np.maximum(np.ceil(angle * (MEAN_RADIUS_NM / self.rule.step_nm)).astype(int), 1)
        first = np.cumsum(count + 1) - (count + 1)
        leg = np.repeat(np.arange(len(stops)), count + 1)
        turn = (np.arange(leg.size) - first[leg]) * (angle / count)[leg]
        x, y, z = start[:, None] * np.cos(turn) + (aside / np.maximum(across, 1e-12)[:, None]).T[:, leg] * np.sin(turn)
        return leg, np.degrees(np.arctan2(z, np.hypot(x, y))), np.degrees(np.arctan2(y, x))


def highest_required_ft(terrain: Terrain, lat: np.ndarray, lon: np.ndarray, ends: Ends, rule: Clearance) -> float:
    """Return the level that the known ground below places of a route requires, -inf if none counts. [ft]

    Parameters
    ----------
    terrain : Terrain
    lat : array   Latitude. [deg]
    lon : array   Longitude, west negative. [deg]
    ends : Ends
    rule : Clearance
    """
    cell = terrain.number_of(lat, lon)
    counted = np.flatnonzero(ends.counted(lat, lon) & terrain.known_cells.take(cell))
    if not counted.size:
        return -inf
    least_ft, most_ft = _bounds(terrain, rule)
    # Only where the ground may be higher than what is surely below some place is it worth a closer look.
    worth = counted[most_ft.take(cell[counted]) >= least_ft.take(cell[counted]).max()]
    return float(required_ft(terrain, lat[worth], lon[worth], rule).max())


def required_ft(terrain: Terrain, lat: np.ndarray, lon: np.ndarray, rule: Clearance) -> np.ndarray:
    """Return the level that the ground around places requires, NaN where it is unknown. [ft]

    Parameters
    ----------
    terrain : Terrain
    lat : array   Latitude. [deg]
    lon : array   Longitude, west negative. [deg]
    rule : Clearance
    """
    mountain = terrain.mountainous(lat, lon)
    out = np.empty(lat.shape)
    for there, half_width_nm, relief_share, margin_ft in (
            (~mountain, rule.half_width_nm, rule.relief_share, rule.margin_ft),
            (mountain, rule.mountain_half_width_nm, rule.mountain_relief_share, rule.mountain_margin_ft)):
        if there.any():
            out[there] = terrain.corridor_floor(lat[there], lon[there], half_width_nm, relief_share) + margin_ft
    return out


@lru_cache(maxsize=32)
def _bounds(terrain: Terrain, rule: Clearance) -> tuple[np.ndarray, np.ndarray]:
    """Return the least and the most that the ground can require anywhere in each cell, by number; inf where unknown."""
    found = []
    for half_width_nm, relief_share, margin_ft in (
            (rule.half_width_nm, rule.relief_share, rule.margin_ft),
            (rule.mountain_half_width_nm, rule.mountain_relief_share, rule.mountain_margin_ft)):
        ground = terrain.bordered(relief_share)
        found.append((ground + margin_ft, _highest_around(terrain, ground, half_width_nm) + margin_ft))
    mountain, known = np.pad(terrain.mountain, 1), terrain.known_cells
    least, most = (np.where(known, np.where(mountain, high, low), np.float32(np.inf)) for low, high in zip(*found,
                                                                                                    strict=True))
    return least, most


def _highest_around(terrain: Terrain, ground: np.ndarray, half_width_nm: float) -> np.ndarray:
    """Return the highest ground of all cells within a distance of any place of each cell."""
    cell_nm = terrain.cell_deg * NM_PER_DEG
    farthest_deg = max(abs(terrain.north_deg), abs(terrain.north_deg - ground.shape[0] * terrain.cell_deg))
    narrow_nm = cell_nm * max(float(np.cos(np.radians(farthest_deg))), 0.05)
    down, across = (floor(half_width_nm / size_nm) + 1 for size_nm in (cell_nm, narrow_nm))
    height, width = ground.shape
    padded = np.pad(ground, ((down, down), (across, across)), constant_values=-np.inf)
    tall = reduce(np.maximum, (padded[k:k + height] for k in range(2 * down + 1)))
    return reduce(np.maximum, (tall[:, k:k + width] for k in range(2 * across + 1)))
