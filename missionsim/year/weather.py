"""All that the weather of a replication says about one candidate's legs, and the surface air at its fields."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import BIT, Reason
from missionsim.flight.batch import AirOnRoutes
from missionsim.physics.atmosphere import level_ft_of_pressure
from missionsim.world.surface_year import SurfaceYear
from missionsim.year.book import TripBook
from missionsim.year.candidate import CandidatePlan
from missionsim.year.fields import end_components
from missionsim.year.gates import FIRST_HOUR, GatePlan, look
from missionsim.year.layers import Aloft, icing_levels, ridge_bits, storm_bits
from missionsim.year.sky import LegWeather

Array = NDArray[Any]
Bits = NDArray[np.uint32]


@dataclass(frozen=True, slots=True)
class WeatherSky:
    """Surface air of a replication; satisfies `sky.Sky`. `dense` [place]: row among the airports with hourly series."""

    surface: SurfaceYear
    dense: NDArray[np.int64]

    def field_air(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return pressure altitude and temperature of fields at times."""
        row, hour = self._at(place, time_h)
        altitude_ft = level_ft_of_pressure(self.surface.pressure_hpa[row, hour], check=False)
        return altitude_ft, self.surface.temperature_c[row, hour]

    def surface_wind(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return eastward and northward wind at fields."""
        row, hour = self._at(place, time_h)
        east_kt, north_kt = self.surface.air.wind
        return east_kt[row, hour], north_kt[row, hour]

    def gust(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return mean wind and gust at fields. [kt]"""
        row, hour = self._at(place, time_h)
        return self.surface.wind_kt[row, hour], self.surface.gust_kt[row, hour]

    def _at(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        hour = np.floor(time_h).astype(np.int64) + FIRST_HOUR
        return self.dense[place], np.clip(hour, 0, self.surface.field.values.shape[1] - 1)


@dataclass(frozen=True, slots=True)
class FieldLimits:
    """Runway directions a candidate can count on at the two ends of each leg, and daylight.

    `from_deg`, `to_deg` [leg, end]: headings, padded with NaN; a leg with none is judged end by end elsewhere.
    `dark` [leg, slot]: the flight would run into darkness that the pilot does not accept.
    """

    from_deg: Array
    to_deg: Array
    dark: NDArray[np.bool_]


def leg_weather(plan: CandidatePlan, gates: GatePlan, limits: FieldLimits, book: TripBook, sky: WeatherSky,
                over: Aloft, air: AirOnRoutes) -> LegWeather:
    """Return what weather says about a candidate's legs in a replication.

    Parameters
    ----------
    over : Aloft          Cloud and storms over legs.
    air : AirOnRoutes     By row of the candidate's table.
    """
    view = look(gates, book, sky.surface)
    storm, detour = storm_bits(plan, over, book)
    own = storm | ridge_bits(plan, air, book) | _wind_bits(plan, limits, gates, book, sky)
    own |= np.where(limits.dark, np.uint32(BIT[Reason.DAYLIGHT]), np.uint32(0))
    reasons = view.reasons | own
    planned = storm[np.arange(len(storm)), book.planned_slot] != 0
    return LegWeather(reasons, view.below & (own == 0), view.diversion_place, view.closes_h, view.alternate_gal,
                      view.bad_ahead | planned, detour, icing_levels(plan, over, air), Reason.ICING)


def _wind_bits(plan: CandidatePlan, limits: FieldLimits, gates: GatePlan, book: TripBook, sky: WeatherSky) -> Bits:
    """Return the wind bit: too much wind, gusts or crosswind at either end."""
    bad = np.zeros((len(book.trip), book.slots), dtype=bool)
    for place, headings, hour_i in ((book.from_place, limits.from_deg, gates.departure_i),
                                    (book.to_place, limits.to_deg, gates.arrival_i)):
        row = sky.dense[place][:, None]
        east_kt, north_kt = (c[row, hour_i] for c in sky.surface.air.wind)
        mean_kt = np.hypot(east_kt, north_kt)
        gust_kt = sky.surface.gust_kt[row, hour_i]
        bad |= (gust_kt > plan.rules.max_wind_kt) | (gust_kt - mean_kt > plan.rules.max_gust_spread_kt)
        # Only where the wind could be across too much is the direction of runways looked at.
        leg, slot = np.nonzero(mean_kt > plan.crosswind_limit_kt)
        if len(leg):
            across = _least_crosswind(headings[leg], east_kt[leg, slot], north_kt[leg, slot])
            bad[leg, slot] |= across > plan.crosswind_limit_kt
    return np.where(bad, np.uint32(BIT[Reason.WIND]), np.uint32(0))


def _least_crosswind(headings_deg: Array, east_kt: Array, north_kt: Array) -> Array:
    """Return the least crosswind over runway ends, [n]; 0 where no end is known to be counted on."""
    known = ~np.isnan(headings_deg)
    across = end_components(np.nan_to_num(headings_deg), east_kt[:, None], north_kt[:, None])[1]
    least = np.where(known, across, np.inf).min(axis=1, initial=np.inf)
    return np.where(np.isfinite(least), least, 0.0)
