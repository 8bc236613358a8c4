"""Temperature, pressure and wind at the surface, hanging together with ceiling and visibility.

Drawn only at the hours of airports that somebody asks for: a study's flights leave and arrive in a few hours of most
places' years. What those hours need of the climate is looked up once; whichever hours are asked for, each has the bits
of the whole year.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from missionsim.base.arrays import Array, Bools, Floats32, Ints, Ints32
from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import StreamSet
from missionsim.base.words import Stream
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.interpolated_field import InterpolatedField, Reading, drawn_together, streams_of
from missionsim.world.random_fields.windows import Windows, asked_days
from missionsim.world.surface.climate import SurfaceClimate, rest_of_spread
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

TEMPERATURE, PRESSURE, WIND_U, WIND_V, WIND_LOCAL = range(5)
_COMPONENTS = WIND_U, WIND_V
_BY_CELL = ("temperature_slope_c", "temperature_sd_c", "pressure_hpa", "pressure_slope_hpa", "pressure_sd_hpa",
            "wind_u_kt", "wind_v_kt", "wind_sd_u_kt", "wind_sd_v_kt", "wind_correlation")


@dataclass(frozen=True, slots=True)
class AirPlan:
    """What the air is drawn from at pairs of place and hour, [n]: means, spreads, slopes, and where fields are read."""

    place: Ints
    hour: Ints
    temperature_c: Floats32
    temperature_slope_c: Floats32
    temperature_rest_c: Floats32      # spread that the weather rank leaves
    temperature_limit_c: Floats32     # farthest from the mean
    pressure_hpa: Floats32
    pressure_slope_hpa: Floats32
    pressure_rest_hpa: Floats32
    wind_u_kt: Floats32
    wind_v_kt: Floats32
    wind_u_sd_kt: Floats32
    wind_v_of_u_kt: Floats32          # northward wind per unit of the first component
    wind_v_rest_kt: Floats32
    temperature: Reading
    pressure: Reading
    wind: Reading
    windows: Windows                # of both components of the wind, alike, one after the other
    streams: StreamSet
    own: Ints32                     # places of the values of the first among those of the windows

    @classmethod
    def of(cls, climate: SurfaceClimate, place: Array, hour: Array) -> AirPlan:
        """Return the plan for pairs of an airport (row of the climate) and an hour index, in any order, [n]."""
        v, a = _by_cell(climate, place, hour), climate.assumptions
        row = climate.latent_plan.airport_row[place]
        days = asked_days(place, hour // 24, len(climate.names))
        windows = Windows.of([days] * len(_COMPONENTS), [_own_phi(a)] * len(_COMPONENTS), spare=0)
        beside = _fields(climate)
        readings = {name: Reading.of(field, row, hour, beside) for name, field in climate.air_fields.items()}
        return cls(
            place, hour, climate.mean_temperature(place, hour), v["temperature_slope_c"],
            rest_of_spread(v["temperature_sd_c"], v["temperature_slope_c"]),
            np.float32(a["weather.temperature_limit_sd"]) * v["temperature_sd_c"], v["pressure_hpa"],
            v["pressure_slope_hpa"], rest_of_spread(v["pressure_sd_hpa"], v["pressure_slope_hpa"]), v["wind_u_kt"],
            v["wind_v_kt"], v["wind_sd_u_kt"], v["wind_sd_v_kt"] * v["wind_correlation"],
            v["wind_sd_v_kt"] * np.sqrt(1.0 - v["wind_correlation"] * v["wind_correlation"]), **readings,
            windows=windows, streams=_own_streams(windows, climate.latent_plan.address),
            own=windows.positions(place, hour))

    @classmethod
    def whole_years(cls, climate: SurfaceClimate) -> AirPlan:
        """Return the plan for every hour of every airport, place by place."""
        airports = climate.latent_plan.airports
        return cls.of(climate, np.repeat(airports, HOURS), np.tile(np.arange(HOURS), airports.size))


@dataclass(frozen=True, slots=True)
class AskedHours:
    """Hours of airports that a study looks at in every replication, in the order of place and hour.

    `index` [airports x hours], flat: position in the plan, -1 where nobody looks.
    """

    index: Ints32
    plan: AirPlan

    @classmethod
    def of(cls, climate: SurfaceClimate, wanted: Bools) -> AskedHours:
        """Return the hours wanted, (airports, HOURS) in the order of `climate.latent_plan.airports`."""
        row, hour = np.nonzero(wanted)
        index = np.full(wanted.size, -1, dtype=np.int32)
        index[row * HOURS + hour] = np.arange(len(row))
        return cls(index, AirPlan.of(climate, climate.latent_plan.airports[row], hour))


@dataclass(frozen=True, slots=True)
class SurfaceAir:
    """Weather at pairs of place and hour, [n]: the rank of ceiling and visibility, air, mean wind and gusts."""

    latent: Floats32
    pressure_hpa: Floats32
    temperature_c: Floats32
    east_kt: Floats32
    north_kt: Floats32
    mean_kt: Floats32
    gust_kt: Floats32


@dataclass(frozen=True)
class AirYear:
    """The air of one replication; the fields are drawn at their knots when first read."""

    climate: SurfaceClimate
    latent: FieldYear
    streams: StreamSet

    def at(self, plan: AirPlan, latent: Floats32 | None = None) -> SurfaceAir:
        """Return the air that a plan asks for; `latent` [n]: rank of ceiling and visibility, where known already."""
        if latent is None:
            latent = self.latent.value(plan.place, plan.hour)
        temperature = plan.temperature.read(self._rows[TEMPERATURE])
        temperature *= plan.temperature_rest_c
        temperature += plan.temperature_slope_c * latent    # low ceilings make cool afternoons and mild nights
        # Month by month real temperatures end earlier than a normal distribution does.
        np.minimum(temperature, plan.temperature_limit_c, out=temperature)
        np.maximum(temperature, -plan.temperature_limit_c, out=temperature)
        temperature += plan.temperature_c
        pressure = plan.pressure.read(self._rows[PRESSURE])
        pressure *= plan.pressure_rest_hpa
        pressure += plan.pressure_slope_hpa * latent
        pressure += plan.pressure_hpa
        east, north = self._wind(plan)
        mean = np.sqrt(east * east + north * north)
        return SurfaceAir(latent, pressure, temperature, east, north, mean, gusts(mean, self.climate.assumptions))

    def _wind(self, plan: AirPlan) -> tuple[Floats32, Floats32]:
        first, second = self._components(plan)
        north = plan.wind_v_of_u_kt * first
        second *= plan.wind_v_rest_kt
        north += second
        north += plan.wind_v_kt
        first *= plan.wind_u_sd_kt
        first += plan.wind_u_kt
        return first, north

    def _components(self, plan: AirPlan) -> list[Floats32]:
        """Return both components of the wind, of unit variance: what regions share and what places have alone."""
        share = self.climate.assumptions["weather.wind_local_share"]
        drawn, out = plan.windows.drawn, []
        every = drawn.draw(plan.streams.randoms(self.latent.seed, self.latent.replication)).reshape(-1)
        after = drawn.columns // len(_COMPONENTS)    # by so many columns the second component stands behind the first
        for which, number in enumerate(_COMPONENTS):
            value = plan.wind.read(self._rows[number])
            value *= np.float32(np.sqrt(1.0 - share))
            own = every[after * which:].take(plan.own)
            own *= np.float32(np.sqrt(share))
            value += own
            out.append(value)
        return out

    @cached_property
    def _rows(self) -> list[Floats32]:
        """The series of all fields at their knots, by number."""
        return drawn_together(_fields(self.climate), self.streams.randoms(self.latent.seed, self.latent.replication))


def air_streams(climate: SurfaceClimate) -> StreamSet:
    """Return what temperature, pressure and wind are drawn from at their knots."""
    return streams_of(_fields(climate), Stream.TEMPERATURE)


def _fields(climate: SurfaceClimate) -> list[InterpolatedField]:
    return [climate.air_fields[name] for name in ("temperature", "pressure", "wind", "wind")]


def _own_streams(windows: Windows, address: Ints) -> StreamSet:
    """Return what both components of the wind that places have for themselves are drawn from."""
    which, place = np.divmod(windows.drawn.row, len(address))
    return StreamSet(Stream.SURFACE_LOCAL, WIND_LOCAL, np.array(_COMPONENTS)[which], *address[place].T,
                     jumps=windows.jumps)


def _own_phi(assumptions: Assumptions) -> float:
    """Return the correlation from one hour to the next of the wind that places have for themselves."""
    return float(np.exp(-1.0 / assumptions["weather.wind_local_e_fold_h"]))


def gusts(wind_kt: Floats32, assumptions: Assumptions) -> Floats32:
    """Return gusts: a factor on the mean wind above a threshold, else the mean wind. [kt]"""
    factor = np.float32(assumptions["weather.gust_factor"])
    return wind_kt * np.where(wind_kt > assumptions["weather.gust_above_kt"], factor, np.float32(1.0))


def _by_cell(climate: SurfaceClimate, place: Array, hour: Array) -> dict[str, Floats32]:
    """Return the climate at pairs of place and hour, by name."""
    used, row = np.unique(place, return_inverse=True)
    cell = climate.cell(place, hour)
    out = {}
    for name in _BY_CELL:
        rows = [climate.cells[p].rest[name].ravel() for p in used.tolist()]
        table = np.stack(rows) if rows else np.zeros((1, MONTHS * BLOCKS), dtype=np.float32)
        out[name] = table[row, cell if table.shape[1] == MONTHS * BLOCKS else cell // BLOCKS]
    return out
