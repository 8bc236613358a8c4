"""The way from one airport to another: straight, or bent around ground that a usable level does not clear."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from math import ceil, inf
from typing import NamedTuple

import numpy as np

from missionsim.physics.geodesy import distance_course
from missionsim.world.ground.clearance import Clearance
from missionsim.world.ground.leg_ground import (
    Ends,
    GreatCircle,
    LegsFrom,
    Point,
    end_distances,
    highest_required_ft,
)
from missionsim.world.ground.route_search import SearchWindow, search_windows
from missionsim.world.ground.terrain import NM_PER_DEG, Terrain

_NARROW_RATIO = 1.1
"""Most bends are no longer than this against the straight line; looked at first, since fewer cells are faster."""


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """One way between two places.

    Parameters
    ----------
    distance_nm, direct_distance_nm : float       Along this way, and straight. [nm]
    course_deg, arrival_course_deg : float        True course on leaving and on arriving. [deg]
    via : tuple of (lat, lon)                     Turning points; none on a straight route. [deg]
    minimum_level_ft : float                      Lowest altitude that keeps the rule's clearance. [ft]
    sample_lat, sample_lon, sample_course_deg : (k,) arrays   Middles of k parts of equal length. [deg]
    sample_terrain_ft : (k,) array                Highest ground in each part, NaN where unknown. [ft]
    known : bool                                  The ground is known all the way (or the user gave a minimum altitude).
    mountainous : bool                            Part of the way lies in a mountainous area.
    """

    distance_nm: float
    direct_distance_nm: float
    course_deg: float
    arrival_course_deg: float
    via: tuple[tuple[float, float], ...]
    minimum_level_ft: float
    sample_lat: np.ndarray
    sample_lon: np.ndarray
    sample_course_deg: np.ndarray
    sample_terrain_ft: np.ndarray
    known: bool
    mountainous: bool


class RouteEnd(NamedTuple):
    """Where a route begins or ends. [deg, deg, ft]"""

    lat_deg: float
    lon_deg: float
    elevation_ft: float

    @property
    def point(self) -> Point:
        """Its place on the map."""
        return self.lat_deg, self.lon_deg


class RouteFinder:
    """The routes between one pair of places under any ceiling; searches are made once and share what they can.

    Parameters as for `direct`.
    """

    def __init__(self, terrain: Terrain, start: RouteEnd, goal: RouteEnd, rule: Clearance,
                 minimum_altitude_ft: float | None = None) -> None:
        self.straight = direct(terrain, start, goal, rule, minimum_altitude_ft)
        self._bends = _Bends(terrain, self.straight, start, goal, rule, minimum_altitude_ft)

    def within(self, highest_usable_ft: float) -> Route | None:
        """Return the shortest route that clears at the highest usable level, or None."""
        if self.straight.minimum_level_ft <= highest_usable_ft:
            return self.straight
        return self._bends.at(highest_usable_ft)

    def choices(self) -> tuple[Route, ...]:
        """Return the straight route and the bent ones worth having: each longer than the last, and lower.

        Only the straight one where the ground is unknown.
        """
        return self._bends.lower()

    def lowest(self) -> Route:
        """Return the route that needs the lowest level, however high that is."""
        return self.choices()[-1]


def direct(terrain: Terrain, start: RouteEnd, goal: RouteEnd, rule: Clearance,
           minimum_altitude_ft: float | None = None) -> Route:
    """Return the straight route, whatever level it needs.

    Parameters
    ----------
    terrain : Terrain
    start, goal : RouteEnd
    rule : Clearance
    minimum_altitude_ft : float or None   The user's minimum altitude; makes unknown ground known. [ft]
    """
    found = _measured(terrain, [start.point, goal.point], max(start.elevation_ft, goal.elevation_ft), rule)
    if minimum_altitude_ft is None:
        return found
    return replace(found, known=True, minimum_level_ft=max(found.minimum_level_ft, minimum_altitude_ft))


class _Bends:
    """Bent routes between one pair of places, with what their searches share."""

    def __init__(self, terrain: Terrain, straight: Route, start: RouteEnd, goal: RouteEnd, rule: Clearance,
                 minimum_altitude_ft: float | None) -> None:
        self.terrain, self.straight = terrain, straight
        self.rule = replace(rule, mountain_half_width_nm=rule.bent_mountain_half_width_nm)
        self.ends = (start.point, goal.point)
        self.higher_end_ft = max(start.elevation_ft, goal.elevation_ft)
        self.floor_ft = -inf if minimum_altitude_ft is None else minimum_altitude_ft
        self.lowest_ft = max(rule.lowest_bend_ft, self.higher_end_ft + rule.margin_ft, self.floor_ft)
        self._windows: dict[tuple[float, bool], SearchWindow] = {}
        self._found: dict[float, Route | None] = {}

    def lower(self) -> tuple[Route, ...]:
        """Return the straight route and bends at every legal level below it while there is a way."""
        found = [self.straight]
        level = self._legal(self.straight.minimum_level_ft - 1.0)
        while level >= self.lowest_ft:
            if level < found[-1].minimum_level_ft:
                bent = self.at(level)
                if bent is None:
                    break
                if bent.minimum_level_ft < found[-1].minimum_level_ft:
                    found.append(bent)
            level -= 1000.0
        return tuple(found)

    def at(self, highest_ft: float) -> Route | None:
        """Return the shortest bent route at the highest legal level up to this, or None."""
        level = self._legal(highest_ft)
        if not self.straight.known or level < self.lowest_ft:
            return None
        if level not in self._found:
            # Where there is no way at a level there is none at a lower one.
            hopeless = any(found is None and level < other for other, found in self._found.items())
            self._found[level] = None if hopeless else self._searched(level)
        return self._found[level]

    def _searched(self, level: float) -> Route | None:
        for ratio in (min(_NARROW_RATIO, self.rule.longest_ratio), self.rule.longest_ratio):
            for eager in (True, False):
                cells = self._window(ratio, eager).way(level)
                if not cells:
                    break
                bent = self._along(cells, level)
                if max(bent.minimum_level_ft - level, bent.distance_nm / self._direct_nm - ratio) <= 0.0:
                    return bent
        return None

    @property
    def _direct_nm(self) -> float:
        return self.straight.direct_distance_nm

    def _along(self, cells: list[tuple[int, int]], level_ft: float) -> Route:
        lat, lon = self.terrain.centre_of(*np.array(cells).T)
        points = [self.ends[0], *zip(lat[1:-1].tolist(), lon[1:-1].tolist(), strict=True), self.ends[1]]
        pulled = _pulled_straight(self.terrain, points, self.rule, level_ft)
        bent = _measured(self.terrain, pulled, self.higher_end_ft, self.rule)
        return replace(bent, minimum_level_ft=max(bent.minimum_level_ft, self.floor_ft))

    def _legal(self, level_ft: float) -> float:
        return 1000.0 * ((level_ft - self.rule.level_offset_ft) // 1000.0) + self.rule.level_offset_ft

    def _window(self, ratio: float, eager: bool) -> SearchWindow:
        """Return the cells through which a way of so many times the direct distance can lead."""
        if (ratio, eager) not in self._windows:
            ends, longest_nm = np.array(self.ends), ratio * self._direct_nm
            rows, columns = _box(self.terrain, ends, self._direct_nm, longest_nm)
            found = search_windows(
                self.terrain, (rows.start, columns.start), _cells_require(self.terrain, rows, columns, self.rule),
                ends, longest_nm, end_distances(self.terrain, self.ends, self.rule),
                max(self.rule.half_width_nm, self.rule.mountain_half_width_nm))
            self._windows.update({(ratio, True): found[0], (ratio, False): found[1]})
        return self._windows[ratio, eager]


def _box(terrain: Terrain, ends: np.ndarray, direct_nm: float, longest_nm: float) -> tuple[slice, slice]:
    """Return rows and columns around all ways between two places up to a length."""
    reach_deg = 0.5 * float(np.sqrt(longest_nm**2 - direct_nm**2)) / NM_PER_DEG + 3 * terrain.cell_deg
    highest_lat = min(float(np.abs(ends[:, 0]).max()) + reach_deg, 80.0)
    wide_deg = reach_deg / np.cos(np.radians(highest_lat))
    top, left = terrain.cell_of(ends[:, 0].max() + reach_deg, ends[:, 1].min() - wide_deg)
    bottom, right = terrain.cell_of(ends[:, 0].min() - reach_deg, ends[:, 1].max() + wide_deg)
    return (slice(max(int(top), 0), min(int(bottom) + 1, terrain.ground_ft.shape[0])),
            slice(max(int(left), 0), min(int(right) + 1, terrain.ground_ft.shape[1])))


def _cells_require(terrain: Terrain, rows: slice, columns: slice, rule: Clearance) -> np.ndarray:
    """Return the level that the ground of each cell requires of a flight nearby. [ft]."""
    ground, relief = terrain.ground_ft[rows, columns], terrain.relief_ft[rows, columns]
    return np.where(terrain.mountain[rows, columns],
                    ground + rule.mountain_relief_share * relief + rule.mountain_margin_ft,
                    ground + rule.relief_share * relief + rule.margin_ft)


def _pulled_straight(terrain: Terrain, points: list[Point], rule: Clearance, level_ft: float) -> list[Point]:
    """Return the points without those that a straight leg at the level can leave out."""
    legs = LegsFrom(terrain, points, rule, level_ft)
    kept, i, last = [points[0]], 0, len(points) - 1
    while i < last:
        good, bad, trial = i + 1, last + 1, last
        while good < trial:
            # Halved towards the last good one until a leg is clear: all that halving may ask for in one look.
            trials = [trial]
            while (trial := (good + trial) // 2) > good:
                trials.append(trial)
            clear = [*legs.clear(i, trials), True]
            first = clear.index(True)
            bad = trials[first - 1] if first else bad
            good = trials[first] if first < len(trials) else good
            trial = (good + bad) // 2
        i = good
        kept.append(points[i])
    return kept


_geodesic = lru_cache(maxsize=4096)(distance_course)
"""Straight ways between places are asked for again under another rule, and for every bent way between the two."""


def _measured(terrain: Terrain, points: list[Point], higher_end_ft: float, rule: Clearance) -> Route:
    """Return the route through the points with its distance, samples and the level it needs."""
    legs = [_geodesic(*a, *b) for a, b in pairwise(points)]
    starts = np.concatenate([[0.0], np.cumsum([leg[0] for leg in legs])])
    distance = float(starts[-1])
    parts = max(3, ceil(distance / rule.sample_nm))
    per_part = max(1, ceil(distance / parts / rule.half_width_nm))
    looked, told, middle, course = _laid(points, starts, parts, per_part, rule)
    required = highest_required_ft(terrain, looked[0], looked[1], Ends.of(terrain, points, rule), rule)
    ground = terrain.corridor_floor(told[0], told[1], rule.half_width_nm).reshape(parts, per_part)
    straight = distance if len(points) == 2 else _geodesic(*points[0], *points[-1])[0]
    return Route(
        distance_nm=distance, direct_distance_nm=straight, course_deg=legs[0][1], arrival_course_deg=legs[-1][2],
        via=tuple(points[1:-1]), minimum_level_ft=float(max(required, higher_end_ft + rule.margin_ft)),
        sample_lat=middle[0], sample_lon=middle[1], sample_course_deg=course, sample_terrain_ft=ground.max(axis=1),
        known=bool(terrain.covered(told[0], told[1]).all()),
        mountainous=bool(terrain.mountainous(told[0], told[1]).any()))


def _laid(points: list[Point], starts: np.ndarray, parts: int, per_part: int, rule: Clearance,
          ) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return places along a way, rows of latitude and longitude, and courses.

    Where clearance is looked at, `per_part` places in each part, the middles of the parts, and the courses there.
    """
    shares = [(np.arange(count) + 0.5) / count * starts[-1] for count in (parts * per_part, parts)]
    lots: tuple[list[np.ndarray], ...] = ([], [], [])
    courses = []
    for k, (a, b) in enumerate(pairwise(points)):
        leg = GreatCircle.between(a, b)
        fractions = [leg.fractions(rule.step_nm), *(_fractions(along_nm, starts, k) for along_nm in shares)]
        places = np.array(leg.at(np.concatenate(fractions)))
        cuts = fractions[0].size, fractions[0].size + fractions[1].size
        for lot, part in zip(lots, np.split(places, cuts, axis=1), strict=True):
            lot.append(part)
        courses.append(leg.course_deg(fractions[2]))
    looked, told, middle = (np.concatenate(lot, axis=1) for lot in lots)
    return looked, told, middle, np.concatenate(courses)


def _fractions(along_nm: np.ndarray, starts: np.ndarray, leg: int) -> np.ndarray:
    """Return the fractions of a leg at those distances along the way that lie on it; the last has its end too."""
    first = int(np.searchsorted(along_nm, starts[leg]))
    stop = along_nm.size if leg == starts.size - 2 else int(np.searchsorted(along_nm, starts[leg + 1]))
    here, length = along_nm[first:stop], starts[leg + 1] - starts[leg]
    return (here - starts[leg]) / length if length > 0 else np.zeros(here.size)
