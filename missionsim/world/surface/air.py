"""Temperature, dew point spread, pressure and wind at the surface, hanging together with ceiling and visibility."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import ar1
from missionsim.world.random_fields.field import FieldYear, Knots, place_address
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.interpolated_field import SmoothPlan

if TYPE_CHECKING:
    from missionsim.world.surface.climate import SurfaceClimate

TEMPERATURE, PRESSURE, WIND_U, WIND_V, WIND_LOCAL = range(5)
_STEP_SLOW_H, _STEP_WIND_H = 6, 3


@dataclass(frozen=True, slots=True)
class AirPlan:
    """Means, spreads and slopes at every hour of the airports, [d, HOURS] float32, and the fields' geometry."""

    temperature_c: NDArray[np.float32]
    temperature_slope_c: NDArray[np.float32]
    temperature_rest_c: NDArray[np.float32]     # spread that the weather rank leaves
    temperature_limit_c: NDArray[np.float32]    # farthest from the mean
    pressure_hpa: NDArray[np.float32]
    pressure_slope_hpa: NDArray[np.float32]
    pressure_rest_hpa: NDArray[np.float32]
    wind_u_kt: NDArray[np.float32]
    wind_v_kt: NDArray[np.float32]
    wind_u_sd_kt: NDArray[np.float32]
    wind_v_of_u_kt: NDArray[np.float32]         # northward wind per unit of the first component
    wind_v_rest_kt: NDArray[np.float32]
    spread: tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]
    address: NDArray[np.int64]
    temperature_field: SmoothPlan
    pressure_field: SmoothPlan
    wind_field: SmoothPlan
    assumptions: Assumptions

    @classmethod
    def build(cls, climate: SurfaceClimate) -> AirPlan:
        """Return the plan for the airports of a climate."""
        dense = climate.latent_plan.dense
        lat, lon = climate.latitude_deg[dense], climate.longitude_deg[dense]
        a = climate.assumptions

        def hourly(name: str) -> NDArray[np.float32]:
            return climate.by_hour(name, dense)

        slope, slope_p, correlation = (hourly(n) for n in ("temperature_slope_c", "pressure_slope_hpa",
                                                           "wind_correlation"))
        sd, sd_v = hourly("temperature_sd_c"), hourly("wind_sd_v_kt")
        return cls(
            climate.mean_temperature_by_hour(dense), slope, rest_of_spread(sd, slope),
            np.float32(a["weather.temperature_limit_sd"]) * sd,
            hourly("pressure_hpa"), slope_p, rest_of_spread(hourly("pressure_sd_hpa"), slope_p),
            hourly("wind_u_kt"), hourly("wind_v_kt"), hourly("wind_sd_u_kt"), sd_v * correlation,
            sd_v * np.sqrt(1.0 - correlation * correlation),
            (hourly("spread_log"), hourly("spread_slope"), hourly("spread_per_c")), place_address(lat, lon),
            smooth_plan(a, "temperature", lat, lon), smooth_plan(a, "pressure", lat, lon),
            smooth_plan(a, "wind", lat, lon), a)


@dataclass(frozen=True)
class AirYear:
    """Air at the airports in one replication; each quantity is drawn when first asked for, [d, HOURS] float32."""

    climate: SurfaceClimate
    latent: FieldYear
    seed: int
    replication: int

    @property
    def plan(self) -> AirPlan:
        """What the year is drawn from."""
        return self.climate.air_plan

    @cached_property
    def temperature_anomaly_c(self) -> NDArray[np.float32]:
        """Temperature less the month's mean at that clock hour."""
        plan = self.plan
        out = plan.temperature_field.draw(self.seed, self.replication, Stream.TEMPERATURE, TEMPERATURE)
        out *= plan.temperature_rest_c
        out += plan.temperature_slope_c * self.latent.values
        # Month by month real temperatures end earlier than a normal distribution does.
        np.minimum(out, plan.temperature_limit_c, out=out)
        np.maximum(out, -plan.temperature_limit_c, out=out)
        return out

    @cached_property
    def temperature_c(self) -> NDArray[np.float32]:
        """Temperature: low ceilings make cool afternoons and mild nights, as measured at each station."""
        return self.temperature_anomaly_c + self.plan.temperature_c

    @cached_property
    def dew_point_spread_c(self) -> NDArray[np.float32]:
        """Temperature less dew point, from the weather rank and the temperature anomaly; at least 0."""
        mean, slope, per_c = self.plan.spread
        log = mean + slope * self.latent.values
        log += per_c * self.temperature_anomaly_c
        return np.expm1(np.maximum(log, 0.0))

    @cached_property
    def pressure_hpa(self) -> NDArray[np.float32]:
        """Station pressure, lower in bad weather where the station shows it."""
        plan = self.plan
        out = plan.pressure_field.draw(self.seed, self.replication, Stream.TEMPERATURE, PRESSURE)
        out *= plan.pressure_rest_hpa
        out += plan.pressure_slope_hpa * self.latent.values
        out += plan.pressure_hpa
        return out

    @cached_property
    def wind(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Eastward and northward wind. [kt]"""
        plan = self.plan
        first, second = (self._wind_component(number) for number in (WIND_U, WIND_V))
        north = plan.wind_v_of_u_kt * first
        second *= plan.wind_v_rest_kt
        north += second
        north += plan.wind_v_kt
        first *= plan.wind_u_sd_kt
        first += plan.wind_u_kt
        return first, north

    @cached_property
    def wind_kt(self) -> NDArray[np.float32]:
        """Mean wind speed."""
        east, north = self.wind
        return np.sqrt(east * east + north * north)

    @cached_property
    def wind_from_deg(self) -> NDArray[np.float32]:
        """True direction the wind is from, 0 to 360."""
        east, north = self.wind
        turn = np.arctan2(east, north)
        turn *= np.float32(180.0 / np.pi)
        turn += np.float32(180.0)
        return turn

    @cached_property
    def gust_kt(self) -> NDArray[np.float32]:
        """Gusts, see `gusts`."""
        return gusts(self.wind_kt, self.plan.assumptions)

    def _wind_component(self, number: int) -> NDArray[np.float32]:
        a = self.plan.assumptions
        local_share = a["weather.wind_local_share"]
        out = self.plan.wind_field.draw(self.seed, self.replication, Stream.TEMPERATURE, number)
        out *= np.float32(np.sqrt(1.0 - local_share))
        phi = float(np.exp(-1.0 / a["weather.wind_local_e_fold_h"]))
        scale = np.float32(np.sqrt(local_share))
        address = (WIND_LOCAL, number, *self.plan.address.T)
        randoms = generators(self.seed, self.replication, Stream.SURFACE_LOCAL, *address)
        for row, random in zip(out, randoms, strict=True):
            np.add(row, scale * ar1(random, HOURS, phi), out=row)
        return out


def rest_of_spread(sd: NDArray[np.float32], slope: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the spread that a slope on the weather rank leaves; never less than 0.3 of the whole."""
    return np.sqrt(np.maximum(sd * sd - slope * slope, (0.3 * sd) ** 2)).astype(np.float32)


def smooth_plan(assumptions: Assumptions, name: str, lat: NDArray[np.float64], lon: NDArray[np.float64]) -> SmoothPlan:
    """Return the plan of temperature, pressure or wind at airports."""
    knots = Knots.of(assumptions[f"weather.{name}_spacing_nm"], lat, lon)
    step_h = _STEP_WIND_H if name == "wind" else _STEP_SLOW_H
    return SmoothPlan(knots, np.arange(lat.size), step_h, assumptions[f"weather.{name}_e_fold_h"])


def gusts(wind_kt: NDArray[np.float32], assumptions: Assumptions) -> NDArray[np.float32]:
    """Return gusts: a factor on the mean wind above a threshold, else the mean wind. [kt]"""
    factor = np.float32(assumptions["weather.gust_factor"])
    return wind_kt * np.where(wind_kt > assumptions["weather.gust_above_kt"], factor, np.float32(1.0))
