"""Surface weather at chosen hours of airports only, to the same bits as their whole year would have.

A study's flights leave and arrive in a few hours of most places' years. What those hours need of the climate is looked
up once; a replication then computes them alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import Stream
from missionsim.world.random_fields.field import WIDTH, FieldYear
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.interpolated_field import SmoothPlan
from missionsim.world.random_fields.windows import Windows
from missionsim.world.surface.air import (
    PRESSURE,
    TEMPERATURE,
    WIND_LOCAL,
    WIND_U,
    WIND_V,
    gusts,
    rest_of_spread,
    smooth_plan,
)
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

Array = NDArray[Any]
Floats = NDArray[np.float32]
_BY_CELL = ("temperature_slope_c", "temperature_sd_c", "pressure_hpa", "pressure_slope_hpa", "pressure_sd_hpa",
            "wind_u_kt", "wind_v_kt", "wind_sd_u_kt", "wind_sd_v_kt", "wind_correlation")


@dataclass(frozen=True, slots=True)
class SmoothSpots:
    """Where a smooth field is read: flat indices of knots at the step before each spot, [WIDTH, n], and weights."""

    plan: SmoothPlan
    before: NDArray[np.int32]
    weight: Floats
    first: Floats
    second: Floats

    @classmethod
    def of(cls, plan: SmoothPlan, row: Array, hour: Array) -> SmoothSpots:
        """Return where to read at rows of the airports and hours."""
        index, weight = plan.knots.by_rank
        step, clock = np.divmod(hour, plan.step_h)
        first, second = plan.blend()
        at = index.take(row, axis=1) * plan.steps + step
        return cls(plan, at.astype(np.int32), weight.take(row, axis=1), first[clock], second[clock])

    def draw(self, seed: int, replication: int, stream: Stream, *address: int) -> Floats:
        """Return the field at the spots, [n]."""
        flat, at = self.plan.knot_rows(seed, replication, stream, *address).reshape(-1), self.before.astype(np.int64)
        out = _summed(flat.take(at), self.weight) * self.first
        at += 1
        out += _summed(flat.take(at), self.weight) * self.second
        return out


@dataclass(frozen=True, slots=True)
class Spots:
    """Hours of airports that a study looks at in every replication, in the order of place and hour.

    `index` [airports x hours], flat: position among the spots, -1 where nobody looks. `place`, `hour` [n]. The rest is
    named as in `surface_air.AirPlan`, [n].
    """

    index: NDArray[np.int32]
    place: NDArray[np.int64]
    hour: NDArray[np.int64]
    temperature_c: Floats
    temperature_slope_c: Floats
    temperature_rest_c: Floats
    temperature_limit_c: Floats
    pressure_hpa: Floats
    pressure_slope_hpa: Floats
    pressure_rest_hpa: Floats
    wind_u_kt: Floats
    wind_v_kt: Floats
    wind_u_sd_kt: Floats
    wind_v_of_u_kt: Floats
    wind_v_rest_kt: Floats
    temperature: SmoothSpots
    pressure: SmoothSpots
    wind: SmoothSpots
    windows: Windows

    @classmethod
    def of(cls, climate: SurfaceClimate, wanted: NDArray[np.bool_]) -> Spots:
        """Return the spots of a climate.

        Parameters
        ----------
        wanted : (airports, HOURS) bool array   In the order of `climate.latent_plan.dense`.
        """
        row, hour = np.nonzero(wanted)
        index = np.full(wanted.size, -1, dtype=np.int32)
        index[row * HOURS + hour] = np.arange(len(row))
        dense = climate.latent_plan.dense
        place = dense[row]
        v, a = _by_cell(climate, place, hour), climate.assumptions
        lat, lon = climate.latitude_deg[dense], climate.longitude_deg[dense]
        smooth = {name: SmoothSpots.of(smooth_plan(a, name, lat, lon), row, hour)
                  for name in ("temperature", "pressure", "wind")}
        return cls(
            index, place, hour, climate.mean_temperature(place, hour), v["temperature_slope_c"],
            rest_of_spread(v["temperature_sd_c"], v["temperature_slope_c"]),
            np.float32(a["weather.temperature_limit_sd"]) * v["temperature_sd_c"], v["pressure_hpa"],
            v["pressure_slope_hpa"], rest_of_spread(v["pressure_sd_hpa"], v["pressure_slope_hpa"]), v["wind_u_kt"],
            v["wind_v_kt"], v["wind_sd_u_kt"], v["wind_sd_v_kt"] * v["wind_correlation"],
            v["wind_sd_v_kt"] * np.sqrt(1.0 - v["wind_correlation"] * v["wind_correlation"]), **smooth,
            windows=Windows.of(place, hour, climate.latent_plan.address))


@dataclass(frozen=True, slots=True)
class SpotWeather:
    """Weather of one replication at the spots, [n]: the rank of ceiling and visibility, air, mean wind and gusts."""

    latent: Floats
    pressure_hpa: Floats
    temperature_c: Floats
    east_kt: Floats
    north_kt: Floats
    mean_kt: Floats
    gust_kt: Floats

    @classmethod
    def draw(cls, spots: Spots, field: FieldYear, climate: SurfaceClimate) -> SpotWeather:
        """Return the weather of the replication that a field belongs to."""
        seed, replication = field.seed, field.replication
        latent = field.value(spots.place, spots.hour, field.own(spots.windows))
        anomaly = spots.temperature.draw(seed, replication, Stream.TEMPERATURE, TEMPERATURE)
        anomaly *= spots.temperature_rest_c
        anomaly += spots.temperature_slope_c * latent
        np.minimum(anomaly, spots.temperature_limit_c, out=anomaly)
        np.maximum(anomaly, -spots.temperature_limit_c, out=anomaly)
        pressure = spots.pressure.draw(seed, replication, Stream.TEMPERATURE, PRESSURE)
        pressure *= spots.pressure_rest_hpa
        pressure += spots.pressure_slope_hpa * latent
        pressure += spots.pressure_hpa
        east, north = _wind(spots, seed, replication, climate)
        mean = np.sqrt(east * east + north * north)
        return cls(latent, pressure, anomaly + spots.temperature_c, east, north, mean, gusts(mean, climate.assumptions))


def _wind(spots: Spots, seed: int, replication: int, climate: SurfaceClimate) -> tuple[Floats, Floats]:
    a = climate.assumptions
    phi, share = float(np.exp(-1.0 / a["weather.wind_local_e_fold_h"])), a["weather.wind_local_share"]
    first, second = (spots.wind.draw(seed, replication, Stream.TEMPERATURE, number) for number in (WIND_U, WIND_V))
    for component, number in ((first, WIND_U), (second, WIND_V)):
        np.multiply(component, np.float32(np.sqrt(1.0 - share)), out=component)
        own = spots.windows.draw(seed, replication, Stream.SURFACE_LOCAL, WIND_LOCAL, number, steps=HOURS, phi=phi)
        local = np.float32(np.sqrt(share)) * own
        np.add(component, local, out=component)
    north = spots.wind_v_of_u_kt * first
    second *= spots.wind_v_rest_kt
    north += second
    north += spots.wind_v_kt
    first *= spots.wind_u_sd_kt
    first += spots.wind_u_kt
    return first, north


def _summed(values: Floats, weight: Floats) -> Floats:
    values *= weight
    total = values[0]
    for k in range(1, WIDTH):
        total += values[k]
    return total


def _by_cell(climate: SurfaceClimate, place: Array, hour: Array) -> dict[str, Floats]:
    """Return the climate at pairs of place and hour, by name."""
    used, row = np.unique(place, return_inverse=True)
    cell = climate.cell(place, hour)
    out = {}
    for name in _BY_CELL:
        rows = [climate.cells[p].rest[name].ravel() for p in used.tolist()]
        table = np.stack(rows) if rows else np.zeros((1, MONTHS * BLOCKS), dtype=np.float32)
        out[name] = table[row, cell if table.shape[1] == MONTHS * BLOCKS else cell // BLOCKS]
    return out

