"""The places and ways of a study: every airport it may touch, and the lanes that carry the air of its flights.

A lane is one directed route flown from one first hour on: candidates with the same usable levels share it, so that the
air of a replication is computed once for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from math import inf

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.flight.levels import choose_levels_ft, legal_levels_ft
from missionsim.physics.atmosphere import standard_temperature_c
from missionsim.physics.geodesy import along_track_nm
from missionsim.study.prepare.lanes import LaneSet
from missionsim.study.prepare.level_caps import LevelCaps
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.world.ground.clearance import Clearance
from missionsim.world.ground.routes import Route, RouteEnd, RouteFinder
from missionsim.world.ground.terrain import Terrain
from missionsim.world.surface.place_climate import OwnStation, has_weather
from missionsim.world.winds.simulated import LEVEL_GRID_FT


@dataclass
class Places:
    """Airports of a study by row; grows while candidates are prepared, then stays."""

    table: AirportTable
    airports: list[Airport] = field(default_factory=list)
    rows: dict[str, int] = field(default_factory=dict)
    _corridors: dict[tuple[int, int], tuple[Ints, Array]] = field(default_factory=dict, repr=False)
    _table_rows: dict[int, int] = field(default_factory=dict, repr=False)
    _has_weather: dict[int, bool] = field(default_factory=dict, repr=False)
    own_stations: Mapping[str, OwnStation] = field(default_factory=dict)

    def row(self, ident: str) -> int:
        """Return the row of an airport by any identifier, adding it when new."""
        if ident not in self.rows:
            airport = self.table.find(ident)
            if airport.ident not in self.rows:
                self.rows[airport.ident] = len(self.airports)
                self.airports.append(airport)
            self.rows[ident] = self.rows[airport.ident]
        return self.rows[ident]

    def row_of_table(self, index: int) -> int:
        """Return the row of the airport with an index of the airport table."""
        if index not in self._table_rows:
            self._table_rows[index] = self.row(self.table.airport(index).ident)
        return self._table_rows[index]

    def corridor(self, from_place: int, to_place: int, assumptions: Assumptions) -> tuple[Ints, Array]:
        """Return public airports with fuel and weather between two places, nearest the straight line first.

        Rows of the airport table, and how far along the line each lies. [nm]
        """
        key = (from_place, to_place)
        if key not in self._corridors:
            a, b = (self.airports[p] for p in key)
            ends = (a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
            found = self.table.corridor(*ends, assumptions["flight.stop_corridor"])
            found = self.with_weather(found[self.table.has_fuel[found] & self.table.public[found]], assumptions)
            along = along_track_nm(self.table.latitude_deg[found], self.table.longitude_deg[found], *ends)
            self._corridors[key] = found, along
        return self._corridors[key]

    def with_weather(self, found: Ints, assumptions: Assumptions) -> Ints:
        """Return those rows of the airport table that have a weather station near enough to fly by."""
        new = [i for i in found.tolist() if i not in self._has_weather]
        if new:
            lat, lon = self.table.latitude_deg[new], self.table.longitude_deg[new]
            near = has_weather(lat, lon, list(self.own_stations.values()), assumptions)
            self._has_weather.update(zip(new, near.tolist(), strict=True))
        return found[np.array([self._has_weather[i] for i in found.tolist()], dtype=bool)]

    @property
    def elevation_ft(self) -> Array:
        """Field elevations. [ft]"""
        return np.array([a.elevation_ft for a in self.airports])


KEPT_FINDERS = 2_000
"""Routes of so many pairs of places are kept for a study that is prepared again: the ground does not change."""
WORTH_SHARE = 0.005
"""A further way is planned only where it is shorter than the others at its level by more than this share."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way between two places; `visual`: an instrument pilot flies it under visual rules, by day."""

    route: Route
    visual: bool


@dataclass
class Ways:
    """Routes between places by usable ceiling, made once each."""

    terrain: Terrain
    by_rule: Clearance
    visual: Clearance
    places: Places
    _finders: dict[tuple[int, int, bool], RouteFinder] = field(default_factory=dict)

    def between(self, from_place: int, to_place: int, caps: LevelCaps) -> tuple[Way, ...]:
        """Return the ways worth planning for an aircraft, the shortest first.

        Each further one goes below one of the lower caps, round high ground or under visual rules: which of them is
        flown is decided hour by hour, by the level each allows. An instrument pilot crosses mountains under visual
        rules, by day, where that is shorter than the way at the instrument margin, or where there is no such way.

        Parameters
        ----------
        from_place : int   Row of the place left.
        to_place : int     Row of the place reached.
        caps : LevelCaps
        """
        key = (from_place, to_place)
        found = [self._first(*key, caps.highest_ft)]
        for top_ft in reversed(caps.lower_ft):
            for visual in (False,) if self.by_rule is self.visual else (False, True):
                # A way that is open by day alone does not stand in for one that is always open.
                best_nm = min((w.route.distance_nm for w in found
                               if w.route.minimum_level_ft <= top_ft and w.visual <= visual), default=inf)
                worth_nm = (1.0 - WORTH_SHARE) * best_nm
                if worth_nm <= found[0].route.direct_distance_nm:
                    continue  # no way is shorter than the straight one
                way = self._within(*key, top_ft, visual)
                if way is not None and way.route.distance_nm < worth_nm:
                    found.append(way)
        return tuple(found)

    def _first(self, from_place: int, to_place: int, highest_usable_ft: float) -> Way:
        """Return the shortest way by rule, under visual rules where there is no other, else the lowest there is."""
        for visual in (False,) if self.by_rule is self.visual else (False, True):
            way = self._within(from_place, to_place, highest_usable_ft, visual)
            if way is not None:
                return way
        finder, back = self._finder(from_place, to_place, visual=False)
        return Way(turned(finder.lowest()) if back else finder.lowest(), visual=False)

    def _within(self, from_place: int, to_place: int, top_ft: float, visual: bool) -> Way | None:
        """Return the shortest way that needs no more than a level."""
        finder, back = self._finder(from_place, to_place, visual)
        found = finder.within(top_ft)
        if found is None or found.minimum_level_ft > top_ft:
            return None
        return Way(turned(found) if back else found, visual)

    def _finder(self, from_place: int, to_place: int, visual: bool) -> tuple[RouteFinder, bool]:
        """Return what finds the routes of a pair, and whether it runs the other way; one direction serves both."""
        a, b = (self.places.airports[p] for p in (from_place, to_place))
        back = (a.latitude_deg, a.longitude_deg) > (b.latitude_deg, b.longitude_deg)
        first, last = (to_place, from_place) if back else (from_place, to_place)
        if (first, last, visual) not in self._finders:
            ends = (RouteEnd(a.latitude_deg, a.longitude_deg, a.elevation_ft)
                    for a in (self.places.airports[p] for p in (first, last)))
            self._finders[first, last, visual] = _finder_between(
                self.terrain, *ends, self.visual if visual else self.by_rule, self._own_minimum(first, last))
        return self._finders[first, last, visual], back

    def _own_minimum(self, from_place: int, to_place: int) -> float | None:
        own = [self.places.airports[p].minimum_altitude_ft for p in (from_place, to_place)]
        given = [value for value in own if value is not None]
        return max(given) if given else None


_finder_between = lru_cache(maxsize=KEPT_FINDERS)(RouteFinder)


def turned(way: Route) -> Route:
    """Return a route flown the other way."""
    return replace(way, course_deg=(way.arrival_course_deg + 180.0) % 360.0,
                   arrival_course_deg=(way.course_deg + 180.0) % 360.0, via=way.via[::-1],
                   sample_lat=way.sample_lat[::-1], sample_lon=way.sample_lon[::-1],
                   sample_course_deg=(way.sample_course_deg[::-1] + 180.0) % 360.0,
                   sample_terrain_ft=way.sample_terrain_ft[::-1])


@dataclass
class LaneMaker:
    """Collects the lanes of one set of usable levels."""

    ways: Ways
    caps: LevelCaps
    instrument: bool
    _routes: list[Route] = field(default_factory=list)
    _route_rows: dict[tuple[int, int], tuple[int, ...]] = field(default_factory=dict)
    _lanes: dict[tuple[int, float], int] = field(default_factory=dict)
    _used: list[Bools] = field(default_factory=list)
    _ends: list[tuple[int, int]] = field(default_factory=list)
    _visual: list[bool] = field(default_factory=list)

    def lane(self, from_place: int, to_place: int, first_h: float, used: Bools, way: int = 0) -> int:
        """Return the lane of a flight that starts in some air slots from the first hour on, adding it when new.

        Parameters
        ----------
        from_place : int           Row of the place left.
        to_place : int             Row of the place reached.
        first_h : float            Hour the first slot begins. [h]
        used : (air slot,) array   Slots in which somebody may leave.
        way : int                  Which of the ways between the two.
        """
        route_row = self.route_row(from_place, to_place, way)
        key = (route_row, round(first_h, 4))
        lane = self._lanes.setdefault(key, len(self._lanes))
        if lane == len(self._used):
            self._used.append(np.zeros(len(used), dtype=bool))
        self._used[lane] = self._used[lane] | used
        return lane

    def ways_between(self, from_place: int, to_place: int) -> tuple[int, ...]:
        """Return the rows of the routes of all ways between two places, adding them when new."""
        key = (from_place, to_place)
        if key not in self._route_rows:
            ways = self.ways.between(*key, self.caps)
            self._route_rows[key] = tuple(range(len(self._routes), len(self._routes) + len(ways)))
            for way in ways:
                self._routes.append(way.route)
                self._visual.append(way.visual)
                self._ends.append(key)
        return self._route_rows[key]

    def ways_along(self, chain: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """Return the ways in which an itinerary is planned: of each of its flights, which way between its two places.

        Flights that follow each other are held to one level after the other together, each by its own shortest way
        below it: a flight that needs no bend is not bent because another one has to be. A flight without a way so low
        takes its last one.

        Parameters
        ----------
        chain : sequence of int   Rows of places in the order they are reached.
        """
        rows = [self.ways_between(a, b) for a, b in pairwise(chain)]
        if len(rows) == 1:
            return tuple((way,) for way in range(len(rows[0])))
        found = {tuple(self._shortest_below(of_flight, top_ft, visual) for of_flight in rows)
                 for top_ft in (self.caps.highest_ft, *self.caps.lower_ft) for visual in (False, True)}
        return tuple(sorted(found))

    def _shortest_below(self, rows: Sequence[int], top_ft: float, visual: bool) -> int:
        """Return which of some routes is the shortest that needs no more than a level, the last where none is so low.

        Parameters
        ----------
        rows : sequence of int   Rows of routes between two places.
        top_ft : float           The level. [ft]
        visual : bool            Those that an instrument pilot flies under visual rules count, too.
        """
        low = [way for way, row in enumerate(rows)
               if self._routes[row].minimum_level_ft <= top_ft and self._visual[row] <= visual]
        return min(low, key=lambda way: self._routes[rows[way]].distance_nm, default=len(rows) - 1)

    def route_row(self, from_place: int, to_place: int, way: int = 0) -> int:
        """Return the row of the route of a way between two places, of the last one where there are not so many."""
        rows = self.ways_between(from_place, to_place)
        return rows[min(way, len(rows) - 1)]

    def route_of(self, from_place: int, to_place: int, way: int = 0) -> Route:
        """Return the route of a way between two places, adding it when new."""
        return self._routes[self.route_row(from_place, to_place, way)]

    def visual(self, from_place: int, to_place: int, way: int = 0) -> bool:
        """Tell whether an instrument pilot flies this way under visual rules."""
        return self._visual[self.route_row(from_place, to_place, way)]

    def watched_way(self, from_place: int, to_place: int, people: int, open_: Sequence[int] = ()) -> int:
        """Return the way whose weather is looked at: the one that must be seen to be flown, else the first.

        Of those that some rule does not close to the party: nobody asks for the weather of a way that the passengers
        refuse. Where none is known to be open, of those that are low enough for it.

        Parameters
        ----------
        from_place, to_place : int   Rows of places.
        people : int                 On board, pilot included.
        open_ : sequence of int      Ways known to have a level open to the party.
        """
        rows, top_ft = self.ways_between(from_place, to_place), self.caps.of_party_ft(people)
        low = [way for way, row in enumerate(rows) if self._routes[row].minimum_level_ft <= top_ft]
        ways = list(open_) or low or list(range(len(rows)))
        return next((way for way in ways if self._visual[rows[way]]), ways[0])

    def finish(self, first_route: int) -> LaneSet:
        """Return the finished lane set."""
        levels = [self._levels(i) for i in range(len(self._routes))]
        width = max((len(x) for x in levels), default=1)
        padded = np.full((len(levels), width), np.nan)
        for i, x in enumerate(levels):
            padded[i, :len(x)] = x
        keys = list(self._lanes)
        rows = np.array([k[0] for k in keys], dtype=np.int64)
        lane_levels = padded[rows] if len(rows) else np.zeros((0, width))
        filled = np.nan_to_num(lane_levels, nan=LEVEL_GRID_FT[0])
        grid = np.array(LEVEL_GRID_FT, dtype=float)
        below = np.clip(np.searchsorted(grid, filled, side="right") - 1, 0, len(grid) - 2)
        share = np.clip((filled - grid[below]) / (grid[below + 1] - grid[below]), 0.0, 1.0)
        fields = [max(self.ways.places.airports[p].elevation_ft for p in self._ends[r]) for r in rows]
        low = np.clip(np.searchsorted(grid, np.array(fields) + 2000.0), 0, len(grid) - 1)
        used = np.array(self._used, dtype=bool) if self._used else np.zeros((0, 1), dtype=bool)
        return LaneSet(tuple(self._routes), rows, np.array([k[1] for k in keys]), used, lane_levels,
                       below.astype(np.int64), share.astype(np.float32),
                       standard_temperature_c(filled, check=False).astype(np.float32),
                       low.astype(np.int64), first_route)

    def _levels(self, row: int) -> Array:
        way, ends = self._routes[row], self._ends[row]
        instrument = self.instrument and not self._visual[row]
        airports = self.ways.places.airports
        fields_ft = max(airports[p].elevation_ft for p in ends)
        known_ft = way.minimum_level_ft if way.known else fields_ft + 2000.0
        lowest_ft = max(known_ft, fields_ft + 1500.0)
        magnetic_deg = way.course_deg - airports[ends[0]].declination_deg
        # Over a pass in visual weather a flight is within 3,000 ft of the ground, where levels do not go by direction.
        near_ground_ft = max(fields_ft, lowest_ft - 2000.0) if not instrument and way.mountainous else fields_ft
        levels = choose_levels_ft(magnetic_deg, instrument, lowest_ft, self.caps.highest_ft, near_ground_ft)
        if not len(levels):
            levels = legal_levels_ft(magnetic_deg, instrument, lowest_ft, lowest_ft + 2000.0)[:1]
        if not len(levels):
            levels = np.array([np.ceil(lowest_ft / 1000.0) * 1000.0])
        return _thinned(levels, way.distance_nm)


def _thinned(levels: Array, distance_nm: float) -> Array:
    """Return levels worth trying: a short hop never reaches the high ones, and ten are enough for any."""
    worth = levels[levels <= max(levels[0] + 60.0 * distance_nm, levels[0] + 4000.0)]
    if len(worth) > 10:
        keep = np.unique(np.round(np.linspace(0, len(worth) - 1, 10)).astype(int))
        worth = worth[keep]
    return worth


def route_samples(route_list: Sequence[Route]) -> tuple[Array, Array, Array]:
    """Return sample latitudes, longitudes and courses of routes, padded with NaN to the longest."""
    width = max(len(r.sample_lat) for r in route_list)
    out = np.full((3, len(route_list), width), np.nan)
    for i, r in enumerate(route_list):
        for part, values in zip(out, (r.sample_lat, r.sample_lon, r.sample_course_deg), strict=True):
            part[i, :len(values)] = values
    return out[0], out[1], out[2]
