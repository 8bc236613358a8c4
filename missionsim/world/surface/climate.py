"""The surface climate of a study's places: what a year of weather is drawn from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Array, Floats, Floats32, Ints, Ints8
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.words import Stream
from missionsim.world.random_fields.field import FieldPlan, SlowEffect
from missionsim.world.random_fields.hours import HOURS, start_of_hour_h
from missionsim.world.random_fields.interpolated_field import InterpolatedField
from missionsim.world.random_fields.knots import Knots
from missionsim.world.random_fields.parts import parts_of
from missionsim.world.surface.flight_category import UNLIMITED_FT, category
from missionsim.world.surface.place_climate import (
    NoWeatherStation,
    OwnStation,
    PlaceCells,
    nearest_own,
    neighbours,
    place_cells,
    warmer_by_month_c,
)
from missionsim.world.surface.station_climate import BLOCKS, MONTH_DAYS, MONTHS, PAIR_SHARE
from missionsim.world.surface.station_table import StationTable

AIRPORT, SAMPLE = 0, 1
"""Kinds of place: airports keep their whole year; points along a route are computed where asked."""

_MONTH_OF_DAY = np.repeat(np.arange(MONTHS), MONTH_DAYS)
_CERTAIN = 8.0
_MOST_FREEZING = 0.9
_AIR_STEP_H = {"temperature": 6, "pressure": 6, "wind": 3}
_RANK_BREAK = normal_quantile(np.cumsum(PAIR_SHARE)[:-1]).astype(np.float32)


@dataclass(frozen=True)
class SurfaceClimate:
    """Climate and geometry of places, built once per study. Axes: place p, month, 3-hour block of standard time.

    Parameters
    ----------
    names : tuple of str
    latitude_deg, longitude_deg, elevation_ft : (p,) float64
    kind : (p,) int8                 `AIRPORT` or `SAMPLE`.
    utc_offset_h : (p,) float64      Standard time of the nearest station (or the user's own).
    station : tuple of str           Where each place's climate comes from, for people.
    station_distance_nm : (p,)       Distance of the nearest station.
    ceiling_ft, visibility_sm : (p, 12, 8, 48) float32   Ranked pairs, worst first, above the place.
    cells : tuple of PlaceCells      The rest of each place's climate; the pairs are in the stacks above.
    assumptions : Assumptions
    latent_plan : FieldPlan          The field that ranks ceiling and visibility.
    storm_plan : FieldPlan           The field of thunderstorm coverage.
    """

    names: tuple[str, ...]
    latitude_deg: Floats
    longitude_deg: Floats
    elevation_ft: Floats
    kind: Ints8
    utc_offset_h: Floats
    station: tuple[str, ...]
    station_distance_nm: Floats
    ceiling_ft: Floats32
    visibility_sm: Floats32
    cells: tuple[PlaceCells, ...]
    assumptions: Assumptions
    latent_plan: FieldPlan
    storm_plan: FieldPlan

    @classmethod
    def build(cls, latitude_deg: ArrayLike, longitude_deg: ArrayLike, elevation_ft: ArrayLike, names: Sequence[str],
              assumptions: Assumptions, own_stations: Mapping[str, OwnStation] | None = None,
              kind: ArrayLike | None = None, table: StationTable | None = None) -> SurfaceClimate:
        """Return the climate of places.

        Parameters
        ----------
        latitude_deg, longitude_deg, elevation_ft : (p,) arrays   Elevation of the field or, for samples, the terrain.
        names : sequence of str                  For messages; keys of `own_stations`.
        own_stations : mapping or None           Place name to the station file the user gave for it.
        kind : (p,) array or None                `AIRPORT` (default) or `SAMPLE`.
        table : StationTable or None             Packaged by default.

        Raises
        ------
        NoWeatherStation   Listing every place too far from any station.
        """
        lat, lon, height = (np.atleast_1d(np.asarray(v, dtype=np.float64))
                            for v in (latitude_deg, longitude_deg, elevation_ft))
        kinds = np.zeros(lat.size, np.int8) if kind is None else np.asarray(kind, np.int8)
        table = table or StationTable.packaged()
        own = {p: own_stations[n] for p, n in enumerate(names) if own_stations and n in own_stations}
        every = [] if own_stations is None else list(own_stations.values())
        cells, offset, station, distance = _places(table, lat, lon, height, kinds, names, own, every, assumptions)
        ceiling = np.stack([c.ceiling_ft for c in cells])
        visibility = np.stack([c.visibility_sm for c in cells])
        truncation = np.float32(assumptions["weather.visibility_truncation_sm"])
        visibility = np.where(visibility < 9.95, visibility + truncation, visibility)
        # The pairs now stand in the stacks alone: they are most of what a study carries about.
        nothing = np.zeros((0,), dtype=np.float32)
        cells = [replace(c, ceiling_ft=nothing, visibility_sm=nothing) for c in cells]
        latent, storm = _plans(lat, lon, kinds, assumptions)
        return cls(tuple(names), lat, lon, height, kinds, offset, station, distance, ceiling, visibility,
                   tuple(cells), assumptions, latent, storm)

    # -- lookup by hour ---------------------------------------------------------------------------------------------

    @cached_property
    def _offsets(self) -> tuple[Ints, Ints, Ints]:
        """Row of each place's standard time; cell and clock hour of each row and hour."""
        offsets, row = np.unique(self.utc_offset_h, return_inverse=True)
        local = np.floor(start_of_hour_h(np.arange(HOURS))[None] + offsets[:, None] + 1e-6).astype(np.int64)
        month = _MONTH_OF_DAY[(local // 24) % 365]
        return row, month * BLOCKS + local % 24 // 3, local

    @property
    def cells_by_hour(self) -> Ints:
        """Cell (month * 8 + block) by place and hour, [p, HOURS]."""
        row, cell, _ = self._offsets
        return cell[row]

    def cell(self, place: ArrayLike, hour: ArrayLike) -> Ints:
        """Return the cell (month * 8 + block of local standard time) of pairs of place and hour index, [n]."""
        row, cell, _ = self._offsets
        return np.asarray(cell[row[np.asarray(place)], np.asarray(hour)])

    # -- minima and shares ------------------------------------------------------------------------------------------

    def share_below(self, ceiling_ft: ArrayLike, visibility_sm: ArrayLike) -> Floats:
        """Return the share of hours with the ceiling or the visibility below minima, [p, 12, 8].

        Parameters
        ----------
        ceiling_ft, visibility_sm : float or (p,) arrays
        """
        ceiling = np.asarray(ceiling_ft, dtype=np.float32).reshape(-1, 1, 1, 1)
        visibility = np.asarray(visibility_sm, dtype=np.float32).reshape(-1, 1, 1, 1)
        below = (self.ceiling_ft < ceiling) | (self.visibility_sm < visibility)
        return np.asarray(below @ PAIR_SHARE)

    def thresholds(self, ceiling_ft: ArrayLike, visibility_sm: ArrayLike) -> Floats32:
        """Return the latent values under which weather is below minima, [p, 12, 8]; the same rule for forecasts.

        Below minima at place p and hour i is `latent < thresholds[p].ravel()[cell(p, i)]`; its chance, given a
        forecast, is `normal_cdf((threshold - forecast_mean) / forecast_sd)`.
        """
        return as_threshold(self.share_below(ceiling_ft, visibility_sm))

    def rank(self, latent: Floats32) -> Ints:
        """Return which of the 48 ranked pairs a latent value stands for."""
        return np.searchsorted(_RANK_BREAK, latent, side="right")

    def pair_value(self, pairs: Floats32, place: ArrayLike, hour: ArrayLike, latent: Floats32,
                   ) -> Floats32:
        """Return `ceiling_ft` or `visibility_sm` of the pair a latent value stands for, [n].

        Parameters
        ----------
        pairs : (place, month and block, rank) array   The value of each rank.
        place : (n,) int array                         Row of the place.
        hour : (n,) int array                          Hour index.
        latent : (n,) array                            Rank of ceiling and visibility as a normal deviate.
        """
        flat = pairs.reshape(pairs.shape[0], MONTHS * BLOCKS, -1)
        return np.asarray(flat[np.asarray(place), self.cell(place, hour), self.rank(latent)])

    @cached_property
    def category_shares(self) -> Floats:
        """Shares of VFR, MVFR, IFR, LIFR by place, month and block, [p, 12, 8, 4]."""
        kind = category(self.ceiling_ft, self.visibility_sm)
        return np.stack([(kind == k) @ PAIR_SHARE for k in range(4)], axis=-1)

    def categories(self) -> Floats:
        """Return the shares of VFR, MVFR, IFR, LIFR by month, [p, 12, 4]."""
        return np.asarray(self.category_shares.mean(axis=2))

    def stacked(self, name: str) -> Floats32:
        """Return a field of the places' climate, stacked over places: see `StationClimate` for names and shapes."""
        return np.stack([c.rest[name] for c in self.cells])

    def mean_temperature(self, place: Ints, hour: Ints) -> Floats32:
        """Return the mean temperature at pairs, [n]: straight lines between months that keep each month's mean."""
        row, _, local = self._offsets
        used, at = np.unique(place, return_inverse=True)
        rows = [self.cells[p].rest["temperature_c"] for p in used.tolist()]
        table = np.einsum("mk,pkc->pmc", _nodes(), np.stack(rows) if rows else np.zeros((1, MONTHS, 24)))
        there = local[row[place], hour]
        before, after, share = _month_blend(there // 24)
        clock = there % 24
        return np.asarray((1 - share) * table[at, before, clock] + share * table[at, after, clock], dtype=np.float32)

    @cached_property
    def air_fields(self) -> dict[str, InterpolatedField]:
        """Fields of temperature, pressure and wind over the airports."""
        airports, a = self.latent_plan.airports, self.assumptions
        lat, lon = self.latitude_deg[airports], self.longitude_deg[airports]
        return {name: InterpolatedField(Knots.of(a[f"weather.{name}_spacing_nm"], lat, lon), step_h,
                                        a[f"weather.{name}_e_fold_h"]) for name, step_h in _AIR_STEP_H.items()}

    @cached_property
    def cloud_threshold(self) -> Floats32:
        """Latent value under which there is a ceiling at any height, [p, 12, 8]."""
        return self.thresholds(UNLIMITED_FT, 0.0)

    @cached_property
    def thunder_share(self) -> Floats:
        """Share of hours with thunder at the place, [p, 12, 8]; never more than there is cloud."""
        share = self.stacked("thunder_share").astype(np.float64) * self.assumptions["weather.thunder_reporting"]
        return np.minimum(share, 0.9 * normal_cdf(self.cloud_threshold))

    @cached_property
    def freezing_chance(self) -> Floats:
        """Chance of freezing rain in hours cold and dull enough for it, so that its share is kept, [p, 12]."""
        low, high = self.assumptions["weather.freezing_rain_band_c"]
        dull = float(normal_cdf(self.assumptions["weather.freezing_rain_rank"]))
        rank = normal_quantile((np.arange(8) + 0.5) / 8 * dull)
        mean = self.stacked("temperature_c").reshape(-1, MONTHS, BLOCKS, 3).mean(axis=3)
        slope, sd = self.stacked("temperature_slope_c"), self.stacked("temperature_sd_c")
        rest = rest_of_spread(sd, slope)[..., None] + 0.01
        centre = mean[..., None] + slope[..., None] * rank
        fit = normal_cdf((high - centre) / rest) - normal_cdf((low - centre) / rest)
        eligible = dull * fit.mean(axis=(2, 3))
        return np.minimum(self.stacked("freezing_share") / np.maximum(eligible, 1e-6), _MOST_FREEZING)

    @cached_property
    def storm_threshold(self) -> Floats32:
        """Storm-field value under which a spot under cloud has thunder, [p, 12, 8]."""
        cloud = np.maximum(normal_cdf(self.cloud_threshold), 1e-6)
        return as_threshold(self.thunder_share / cloud)

    @cached_property
    def storm_threshold_by_hour(self) -> Floats32:
        """The same at every hour of the airports, [d, HOURS]."""
        row, cell, _ = self._offsets
        airports = self.latent_plan.airports
        table = self.storm_threshold.reshape(-1, MONTHS * BLOCKS)[airports]
        return np.take_along_axis(table, cell[row[airports]], axis=1)


def rest_of_spread(sd: Floats32, slope: Floats32) -> Floats32:
    """Return the spread that a slope on the weather rank leaves; never less than 0.3 of the whole."""
    return np.sqrt(np.maximum(sd * sd - slope * slope, (0.3 * sd) ** 2)).astype(np.float32)


def as_threshold(share: Array) -> Floats32:
    """Return the standard normal value below which a share lies, kept within what a forecast can carry."""
    return np.clip(normal_quantile(np.clip(share, 0.0, 1.0)), -_CERTAIN, _CERTAIN).astype(np.float32)


def _places(table: StationTable, lat: Floats, lon: Floats, height: Floats,
            kinds: Ints8, names: Sequence[str], given: Mapping[int, OwnStation],
            every: Sequence[OwnStation], assumptions: Assumptions,
            ) -> tuple[list[PlaceCells], Floats, tuple[str, ...], Floats]:
    count = assumptions["weather.blend_stations"]
    near = neighbours(table, lat, lon, height, assumptions, count)
    few = kinds == SAMPLE
    if few.any():
        near.weight[few, assumptions["weather.blend_stations_sample"]:] = 0.0
        near.weight[few] /= near.weight[few].sum(axis=1, keepdims=True)
    farthest = assumptions["weather.farthest_station_nm"]
    limit = np.where(few, assumptions["weather.farthest_station_way_nm"], farthest)
    own, own_nm = _with_nearest_own(given, every, lat, lon, near.distance_nm, farthest, limit)
    far = [(names[p], table.label(near.nearest[p]), float(near.distance_nm[p]))
           for p in np.flatnonzero(near.distance_nm > limit).tolist() if p not in own]
    if far:
        named = [f for f in far if not few[names.index(f[0])]]
        raise NoWeatherStation(named, farthest) if named else NoWeatherStation(far[:1], float(limit.max()), on_way=True)
    offset = table.utc_offset_h[near.nearest].copy()
    station = [table.label(s) for s in near.nearest.tolist()]
    distance = near.distance_nm.copy()
    for p, mine in own.items():
        offset[p], station[p], distance[p] = mine.utc_offset_h, f"{mine.name} (own file)", own_nm.get(p, 0.0)
    return place_cells(table, near, height, own, warmer_by_month_c(assumptions)), offset, tuple(station), distance


def _with_nearest_own(given: Mapping[int, OwnStation], every: Sequence[OwnStation], lat: Floats,
                      lon: Floats, packaged_nm: Floats, farthest_nm: float,
                      limit_nm: Floats) -> tuple[dict[int, OwnStation], dict[int, float]]:
    """Return the user's stations by place: those given for it, and the nearest where no packaged one is near."""
    which, distance = nearest_own(every, lat, lon)
    near = (packaged_nm > farthest_nm) & (distance < packaged_nm) & (distance <= limit_nm)
    found = {p: every[which[p]] for p in np.flatnonzero(near).tolist() if p not in given}
    return {**given, **found}, {p: float(distance[p]) for p in found}


def _plans(lat: Floats, lon: Floats, kinds: Ints8, assumptions: Assumptions,
           ) -> tuple[FieldPlan, FieldPlan]:
    airports = np.flatnonzero(kinds == AIRPORT)
    year = assumptions["weather.year_effect_sd"] ** 2
    sd = assumptions["weather.season_effect_sd"]
    season = (sd["winter"] ** 2, sd["summer"] ** 2)
    knots = Knots.with_foot(assumptions["weather.season_effect_spacing_nm"],
                            assumptions["weather.season_effect_foot_share"], lat, lon)
    slow = SlowEffect(year, season, knots)
    left = (1.0 - year - season[0], 1.0 - year - season[1])
    latent = FieldPlan.build(lat, lon, airports, parts_of(assumptions, "latent", left), Stream.SURFACE_WEATHER,
                             Stream.SURFACE_LOCAL, slow)
    total = 1.0 - assumptions["weather.storm_scatter_share"]
    storm = FieldPlan.build(lat, lon, airports, parts_of(assumptions, "storm", (total, total)), Stream.STORMS,
                            Stream.STORMS)
    return latent, storm


def _month_blend(day: Ints) -> tuple[Ints, Ints, Floats32]:
    """Return the months before and after each day's middle of month, and the share of the latter."""
    days = np.array(MONTH_DAYS)
    middle = np.cumsum(days) - 0.5 * days
    of_year = np.arange(365) + 0.5
    before = np.searchsorted(middle, of_year, side="right") - 1
    width = (np.roll(middle, -1) - middle) % 365.0
    share = ((of_year - middle[before]) % 365.0) / width[before]
    index = day % 365
    return before[index] % MONTHS, (before[index] + 1) % MONTHS, share[index].astype(np.float32)


@cache
def _nodes() -> Floats:
    """Return what turns means of months into values at their middles between which straight lines keep those means."""
    before, after, share = _month_blend(np.arange(365))
    line = np.zeros((MONTHS, MONTHS))
    np.add.at(line, (_MONTH_OF_DAY, before), 1.0 - share)
    np.add.at(line, (_MONTH_OF_DAY, after), share)
    return np.linalg.inv(line / np.array(MONTH_DAYS)[:, None])
