"""The air of a single leg: expected for the day and hour, or fixed by whoever asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.surface_weather import FixedSky, Sky
from missionsim.flight.batch import AirOnRoutes
from missionsim.physics.atmosphere import level_ft_of_pressure
from missionsim.physics.wind import uv_kt
from missionsim.study.prepare.lanes import LaneSet
from missionsim.study.prepare.network import Places, route_samples
from missionsim.world.random_fields.hours import HOURS, hour_index
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.place_climate import OwnStation
from missionsim.world.surface.station_climate import BLOCKS
from missionsim.world.surface.summary import mean_pressure_hpa
from missionsim.world.winds.climatology import UpperAir
from missionsim.world.winds.simulated import ExpectedAir, FixedAir, RouteAir

YEAR_H = 8784.0


@dataclass(frozen=True, slots=True)
class LegAir:
    """What is fixed of the air; None is what the climate leads one to expect (at the fields: calm).

    Parameters
    ----------
    wind : (from_deg, kt) or None           Aloft, and at the fields unless those have their own.
    surface_wind : (from_deg, kt) or None   At the fields.
    deviation_c : float or None             From standard temperature, aloft and at the fields. [°C]
    """

    wind: tuple[float, float] | None = None
    surface_wind: tuple[float, float] | None = None
    deviation_c: float | None = None

    @classmethod
    def still(cls) -> LegAir:
        """Return calm, standard air."""
        return cls((0.0, 0.0), (0.0, 0.0), 0.0)

    @property
    def at_fields(self) -> tuple[float, float]:
        """Wind at the fields: direction from and speed. [deg, kt]"""
        return self.surface_wind or self.wind or (0.0, 0.0)


def lane_air(air: LegAir, lanes: LaneSet, lane: Ints, assumptions: Assumptions) -> AirOnRoutes:
    """Return the air of lanes at the middle of their first slot, [n, 1, level].

    Parameters
    ----------
    air : LegAir            Fixed, or of an hour of the climate.
    lanes : LaneSet
    lane : (n,) int array   Rows of lanes.
    assumptions : Assumptions
    """
    lat, lon, course = route_samples(lanes.routes)
    expected = None
    if air.wind is None or air.deviation_c is None:
        operator = RouteAir.build(UpperAir.packaged(assumptions), assumptions, lat, lon, course, YEAR_H)
        expected = lanes.air(ExpectedAir(operator)).whole()
    fixed = lanes.air(FixedAir.build(course, *(air.wind or (0.0, 0.0)), air.deviation_c or 0.0)).whole()
    winds = fixed if air.wind is not None or expected is None else expected
    warm = fixed if air.deviation_c is not None or expected is None else expected
    parts = (winds.headwind_kt, winds.crosswind_kt, warm.isa_deviation_c, winds.low_headwind_kt,
             winds.low_crosswind_kt)
    return AirOnRoutes(*(np.asarray(part, dtype=float)[lane, :1] for part in parts))


@dataclass(frozen=True, slots=True)
class ExpectedSky(Sky):
    """Mean pressure and temperature of the month and hour at places, and one wind.

    `row` [place]: row of the climate, -1 where it was not asked for.
    """

    climate: SurfaceClimate
    row: Ints
    pressure_hpa: Array
    wind: tuple[float, float]

    def field_air(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return pressure altitude and temperature."""
        row, hour = np.broadcast_arrays(self.row[place], hour_index(time_h))
        hour = np.clip(hour, 0, HOURS - 1)
        month = self.climate.cell(row, hour) // BLOCKS
        altitude_ft = level_ft_of_pressure(self.pressure_hpa[row, month], check=False)
        temperature_c = self.climate.mean_temperature(row.ravel(), hour.ravel())
        return altitude_ft, temperature_c.reshape(row.shape).astype(float)

    def surface_wind(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return the one wind."""
        east_kt, north_kt = uv_kt(*self.wind)
        shape = np.broadcast(place, time_h).shape
        return np.full(shape, float(east_kt)), np.full(shape, float(north_kt))


def field_sky(air: LegAir, places: Places, plan: CandidatePlan, row: Ints, assumptions: Assumptions,
              own: Mapping[str, OwnStation]) -> FixedSky | ExpectedSky:
    """Return the air at the fields that some flights use; `own` maps airports to station files of the user's.

    Parameters
    ----------
    air : LegAir           Fixed, or of an hour of the climate.
    places : Places
    plan : CandidatePlan   Of the candidate.
    row : (n,) int array   Rows of the table.
    assumptions : Assumptions
    own : mapping          Station files of the user's, by airport.

    Raises
    ------
    NoWeatherStation   A field's temperature is wanted and no station is near.
    """
    if air.deviation_c is not None:
        return FixedSky(places.elevation_ft, air.deviation_c, *air.at_fields)
    used = np.unique(np.concatenate([plan.rows.from_place[row], plan.rows.to_place[row]]))
    fields = [places.airports[int(p)] for p in used]
    climate = SurfaceClimate.build([f.latitude_deg for f in fields], [f.longitude_deg for f in fields],
                                   [f.elevation_ft for f in fields], [f.ident for f in fields], assumptions, own)
    index = np.full(len(places.airports), -1, dtype=np.int64)
    index[used] = np.arange(len(used))
    return ExpectedSky(climate, index, mean_pressure_hpa(climate), air.at_fields)
