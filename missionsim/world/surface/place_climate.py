"""Climate of a place between stations: neighbours blended by distance and by difference in elevation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats, Floats32, Ints, Ints32
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MissionsimError
from missionsim.physics.geodesy import MEAN_RADIUS_NM, haversine_nm, unit_vectors
from missionsim.world.surface.flight_category import CEILING_NONE, UNLIMITED_FT, severity, visibility_from_code
from missionsim.world.surface.station_climate import BLOCKS, MONTHS, PAIR_SHARE, PAIRS, StationClimate
from missionsim.world.surface.station_table import StationTable

LAPSE_C_PER_FT = 0.0019812
"""Temperature lapse of the ICAO Standard Atmosphere, Doc 7488. [°C/ft]"""

TABLE_RADIUS_NM = 3440.065
"""Radius of the earth that the packaged table of stations was made with; another one would blend it anew. [nm]"""
KEPT_PLACES = 600
"""The climate of so many places is kept for a study that is prepared again."""
_AVERAGED = tuple(f.name for f in fields(StationClimate) if f.name not in ("ceiling_100ft", "visibility_0p1sm"))
_NO_CEILING = 600
"""Code of no ceiling over a place, above all that a station's can reach over lower ground. [100 ft]"""


class NoWeatherStation(MissionsimError):  # noqa: N818  (reads as what it says)
    """Places too far from any weather station, without a station file of their own.

    Parameters
    ----------
    places : sequence of (name, nearest station, its distance in nm)
    farthest_nm : float
    on_way : bool     They are points between airports; a file for an airport near them would do.
    """

    def __init__(self, places: Sequence[tuple[str, str, float]], farthest_nm: float, on_way: bool = False) -> None:
        self.places = tuple(places)
        what, wanted = ("a way leads here, and ", "an airport near it") if on_way else ("", "this place")
        super().__init__("\n".join(
            f"{name}: {what}no weather station within {farthest_nm:,.0f} nm (nearest is {station}, {distance:,.0f} nm);"
            f" accepted: a TMY3 or EPW file for {wanted} under weather_files" for name, station, distance in places))


@dataclass(frozen=True, slots=True)
class OwnStation:
    """A station the user brought, with its climate."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    utc_offset_h: float
    climate: StationClimate


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Stations a place is blended from.

    Parameters
    ----------
    station : (p, k) int64      Rows of the station table.
    weight : (p, k) float64     Sums to 1.
    distance_nm : (p,) float64  To the nearest station.
    nearest : (p,) int64        The nearest station.
    """

    station: Ints
    weight: Floats
    distance_nm: Floats
    nearest: Ints


@dataclass(frozen=True, slots=True)
class PlaceCells:
    """Pairs and averaged climate of one place, in feet and miles."""

    ceiling_ft: Floats32         # [12, 8, 48], above the place; sinks to 0 where the base is below it
    visibility_sm: Floats32      # [12, 8, 48]
    rest: dict[str, Floats32]    # every other field of StationClimate


def neighbours(table: StationTable, lat: Floats, lon: Floats,
               elevation_ft: Floats, assumptions: Assumptions, count: int,
               leave_out: Ints | None = None) -> Neighbours:
    """Return the stations each place is blended from, and their weights.

    The weight is one over the square of an effective distance, in which a difference in elevation counts as so many
    miles for a thousand feet. A place at a station (within `weather.same_station_nm` and 300 ft) takes that alone.

    Parameters
    ----------
    lat, lon, elevation_ft : (p,) arrays
    count : int               Stations to blend.
    leave_out : (p,) int      A station each place must not use, for scoring the method.
    """
    distance = distance_nm(lat, lon, table.latitude_deg, table.longitude_deg)
    if leave_out is not None:
        distance[np.arange(len(lat)), leave_out] = np.inf
    rise = np.abs(elevation_ft[:, None] - table.elevation_ft[None]) / 1000.0
    effective = np.sqrt(distance**2 + assumptions["weather.blend_softening_nm"] ** 2
                        + (assumptions["weather.blend_nm_per_1000_ft"] * rise) ** 2)
    station = np.argsort(effective, axis=1, kind="stable")[:, :count]
    weight = np.take_along_axis(effective, station, axis=1) ** -2.0
    nearest = distance.argmin(axis=1)
    rows = np.arange(len(lat))
    same = (distance[rows, nearest] <= assumptions["weather.same_station_nm"]) & (rise[rows, nearest] <= 0.3)
    station[same, 0] = nearest[same]
    weight[same] = 0.0
    weight[same, 0] = 1.0
    return Neighbours(station, weight / weight.sum(axis=1, keepdims=True), distance[rows, nearest], nearest)


def nearest_own(own: Sequence[OwnStation], lat: Floats, lon: Floats,
                ) -> tuple[Ints, Floats]:
    """Return the nearest of the user's own stations to each place, and its distance; infinite where there is none."""
    if not own:
        return np.zeros(len(lat), dtype=np.int64), np.full(len(lat), np.inf)
    there = np.array([[s.latitude_deg, s.longitude_deg] for s in own]).T
    distance = distance_nm(lat, lon, there[0], there[1])
    return distance.argmin(axis=1), distance.min(axis=1)


def has_weather(lat: Floats, lon: Floats, own: Sequence[OwnStation],
                assumptions: Assumptions) -> Bools:
    """Return whether a weather station, packaged or the user's own, is near enough to places.

    Parameters
    ----------
    lat : array                    Latitude. [deg]
    lon : array                    Longitude, west negative. [deg]
    own : sequence of OwnStation   The user's station files.
    assumptions : Assumptions
    """
    table = StationTable.packaged()
    nearest = (unit_vectors(lat, lon) @ _station_vectors().T).argmax(axis=1)
    away_nm = haversine_nm(lat, lon, table.latitude_deg[nearest], table.longitude_deg[nearest])
    away_nm = np.minimum(away_nm * (TABLE_RADIUS_NM / MEAN_RADIUS_NM), nearest_own(own, lat, lon)[1])
    return np.asarray(away_nm <= float(assumptions["weather.farthest_station_nm"]))


@cache
def _station_vectors() -> Floats:
    table = StationTable.packaged()
    return np.asarray(unit_vectors(table.latitude_deg, table.longitude_deg), dtype=np.float64)


def blended(climates: Sequence[StationClimate], weight: Floats, station_ft: Floats,
            elevation_ft: float) -> PlaceCells:
    """Return the climate of a place from those of its stations.

    Bases of cloud are blended above sea level and the place's own ground taken off, in whole hundreds of feet as they
    are reported: a station tells ceilings above its valley floor, and a summit beside it stands in them. Of stations
    left out, whole years of low weather are missed by 2.8 points so, by 3.2 with ceilings blended above ground, in
    the half of the country looked at while choosing and in the other.

    Parameters
    ----------
    climates : sequence of StationClimate
    weight : (k,) float64          Sums to 1; stations of weight zero do not count.
    station_ft : (k,) float64      Elevations of the stations. [ft]
    elevation_ft : float           Of the place. [ft]

    Returns
    -------
    PlaceCells   The pairs are a mixture: the share of hours below any minima is the stations' weighted mean share.
    """
    use = np.flatnonzero(weight > 0.0).tolist()
    lower_100ft = np.rint((station_ft - elevation_ft) / 100.0).astype(np.int32)
    pairs = np.concatenate([_pair_codes(climates[k], lower_100ft[k]) for k in use], axis=2)
    if len(use) > 1 or lower_100ft[use].any():
        pairs = _thinned(pairs, np.concatenate([PAIR_SHARE * weight[k] for k in use]))
    ceiling_ft, visibility_sm, _ = _pair_tables()
    return PlaceCells(ceiling_ft.take(pairs >> 8), visibility_sm.take(pairs & 255),
                      _averages(climates, weight, use, station_ft, elevation_ft))


def place_cells(table: StationTable, near: Neighbours, elevation_ft: Floats,
                own: Mapping[int, OwnStation], warmer_c: Floats) -> list[PlaceCells]:
    """Return the cells of every place.

    Parameters
    ----------
    own : mapping          Places to stations of the user's, which stay as they are.
    warmer_c : (12,)       What today's climate has over the packaged years on record, by month. [°C]
    """
    out = []
    for p in range(elevation_ft.size):
        if p in own:
            station = own[p]
            out.append(blended([station.climate], np.ones(1), np.array([station.elevation_ft]),
                               float(elevation_ft[p])))
            continue
        used = near.weight[p] > 0.0
        out.append(_packaged_cells(table, tuple(near.station[p][used].tolist()), tuple(near.weight[p][used].tolist()),
                                   float(elevation_ft[p]), tuple(warmer_c.tolist())))
    return out


@lru_cache(maxsize=KEPT_PLACES)
def _packaged_cells(table: StationTable, stations: tuple[int, ...], weight: tuple[float, ...], elevation_ft: float,
                    warmer_c: tuple[float, ...]) -> PlaceCells:
    """Return the cells of a place blended from packaged stations; a study prepared again asks for the same ones."""
    cells = blended([table.climate(station) for station in stations], np.array(weight),
                    table.elevation_ft[list(stations)], elevation_ft)
    cells.rest["temperature_c"] += np.array(warmer_c)[:, None].astype(np.float32)
    return cells


def warmer_by_month_c(assumptions: Assumptions) -> Floats:
    """Return how much warmer each month is today than in the years on record, [12]; a cosine through its two ends."""
    ends = assumptions["weather.warmer_than_record_c"]
    half, middle = 0.5 * (ends["winter"] - ends["summer"]), 0.5 * (ends["winter"] + ends["summer"])
    return np.asarray(middle + half * np.cos(2.0 * np.pi * np.arange(MONTHS) / MONTHS))


def _pair_codes(climate: StationClimate, lower_100ft: np.int32) -> Ints32:
    """Return the station's pairs above a place so much lower: ceiling in hundreds of feet x 256 + tenths of a mile."""
    sunk = np.clip(climate.ceiling_100ft + lower_100ft, 0, _NO_CEILING - 1)
    ceiling = np.where(climate.ceiling_100ft == CEILING_NONE, _NO_CEILING, sunk)
    return np.asarray(256 * ceiling + climate.visibility_0p1sm, dtype=np.int32)


@cache
def _pair_tables() -> tuple[Floats32, Floats32, NDArray[np.uint16]]:
    """Return feet and miles of codes, and of every pair its place among all by severity; equals share theirs."""
    ceiling_ft = np.append(100.0 * np.arange(_NO_CEILING), UNLIMITED_FT).astype(np.float32)
    visibility_sm = visibility_from_code(np.arange(256, dtype=np.uint8))
    _, rank = np.unique(severity(ceiling_ft[:, None], visibility_sm[None, :]), return_inverse=True)
    return ceiling_ft, visibility_sm, rank.ravel().astype(np.uint16)


def _thinned(pairs: Ints32, share: Floats) -> Ints32:
    """Return 48 ranked pairs in each cell out of many weighted ones."""
    cells, many = MONTHS * BLOCKS, share.size
    pairs = pairs.reshape(cells, many)
    order = np.argsort(_pair_tables()[2].take(pairs), axis=1, kind="stable")
    filled = np.cumsum(share.take(order), axis=1)
    filled /= filled[:, -1:]
    middle = np.cumsum(PAIR_SHARE) - 0.5 * PAIR_SHARE
    at = np.arange(cells)[:, None]
    found = np.searchsorted((filled + 2.0 * at).ravel(), (middle + 2.0 * at).ravel()).reshape(cells, PAIRS)
    pick = order[at, np.minimum(found - at * many, many - 1)]
    return np.take_along_axis(pairs, pick, 1).reshape(MONTHS, BLOCKS, PAIRS)


def _averages(climates: Sequence[StationClimate], weight: Floats, use: list[int],
              station_ft: Floats, elevation_ft: float) -> dict[str, Floats32]:
    """Return the weighted means of all that is averaged, temperature and pressure brought to the place's height."""
    part, shapes = _laid_out(tuple(getattr(climates[use[0]], name).shape for name in _AVERAGED))
    total = np.zeros(part[_AVERAGED[-1]].stop)
    for k in use:
        values = np.concatenate([getattr(climates[k], name).ravel() for name in _AVERAGED]).astype(np.float64)
        values[part["temperature_c"]] -= LAPSE_C_PER_FT * (elevation_ft - station_ft[k])
        here = part["pressure_hpa"]
        values[here] = values[here] * _pressure_ratio(elevation_ft) / _pressure_ratio(float(station_ft[k]))
        total += weight[k] * values
    mean = total.astype(np.float32)
    return {name: mean[part[name]].reshape(shape) for name, shape in shapes.items()}


@cache
def _laid_out(shapes: tuple[tuple[int, ...], ...]) -> tuple[dict[str, slice], dict[str, tuple[int, ...]]]:
    """Return where each averaged field stands when all are laid end to end, and its shape."""
    ends = np.cumsum([int(np.prod(shape)) for shape in shapes]).tolist()
    parts = {name: slice(first, end) for name, first, end in zip(_AVERAGED, [0, *ends], ends, strict=False)}
    return parts, dict(zip(_AVERAGED, shapes, strict=True))


def _pressure_ratio(height_ft: float) -> float:
    """Return pressure over sea-level pressure of the ICAO Standard Atmosphere, Doc 7488, below 11 km."""
    return float((1.0 - 6.8755856e-6 * height_ft) ** 5.2558797)


def distance_nm(lat_a: Floats, lon_a: Floats, lat_b: Floats,
                lon_b: Floats) -> Floats:
    """Return great-circle distances between two lots of places, (a, b). [nm]

    Parameters
    ----------
    lat_a : (a,) array   Latitudes. [deg]
    lon_a : (a,) array   Longitudes. [deg]
    lat_b : (b,) array   Latitudes. [deg]
    lon_b : (b,) array   Longitudes. [deg]
    """
    away = haversine_nm(lat_a[:, None], lon_a[:, None], lat_b[None], lon_b[None])
    return np.asarray(away * (TABLE_RADIUS_NM / MEAN_RADIUS_NM), dtype=np.float64)
