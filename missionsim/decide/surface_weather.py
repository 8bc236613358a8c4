"""Surface weather as the year sees it: air at fields, and what weather says about legs slot by slot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Ints32
from missionsim.physics.atmosphere import standard_temperature_c
from missionsim.physics.wind import uv_kt
from missionsim.year.decisions import NEVER_BELOW, DiversionLook, FairLook
from missionsim.year.schedule import Schedule


class Sky(Protocol):
    """Surface air of one replication at the study's places; place and time broadcast together."""

    def field_air(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return pressure altitude of the field [ft] and temperature [°C]."""
        ...

    def surface_wind(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return eastward and northward wind, mean of the hour. [kt]"""
        ...

    def at_fields(self, place: Array, time_h: Array) -> tuple[Array, Array, Array, Array]:
        """Return what `field_air` and `surface_wind` do, for those that want both."""
        return *self.field_air(place, time_h), *self.surface_wind(place, time_h)


@dataclass(frozen=True, slots=True)
class FixedSky(Sky):
    """One wind and one temperature deviation everywhere and always: for checks by hand.

    `elevation_ft` [place].
    """

    elevation_ft: Array
    isa_deviation_c: float = 0.0
    wind_from_deg: float = 0.0
    wind_kt: float = 0.0

    def field_air(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return field elevation and standard temperature plus the deviation."""
        altitude_ft = np.broadcast_to(self.elevation_ft[place], np.broadcast(place, time_h).shape)
        return altitude_ft, standard_temperature_c(altitude_ft, check=False) + self.isa_deviation_c

    def surface_wind(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return the one wind."""
        east_kt, north_kt = uv_kt(self.wind_from_deg, self.wind_kt)
        shape = np.broadcast(place, time_h).shape
        return np.full(shape, float(east_kt)), np.full(shape, float(north_kt))


@dataclass(frozen=True, slots=True)
class LegWeather:
    """What surface weather says about one candidate's legs, arrays [hour, block looked at] unless said otherwise.

    Hours and blocks are those of `Schedule.looks.hours`.

    `reasons`: bits of weather, wind, daylight in the way; `marginal`: bits of the pilot's own limits that are met
    within their tolerance only; `visual_reasons`: what further stands in the way of flights under visual rules; `ends`,
    `met_below`: where those end that cannot go on, see `Decisions`. `below`: actual weather below landing minima on
    arrival. `alternate_gal`: fuel carried for an alternate. `bad_ahead` [leg]: the planned hour looks bad beforehand,
    `low_ahead` [leg]: for its ceilings and visibility. `detour_share`: way added around storms. `blocked_levels` [cell,
    level]: levels that ice closes. `diverts`, `fetched`: see `DiversionLook` and `FairLook`.
    """

    reasons: Bits
    below: Bools
    alternate_gal: Array
    bad_ahead: Bools
    detour_share: Array
    blocked_levels: Bools | None = None
    visual_reasons: Bits | None = None
    ends: Ints32 | None = None
    met_below: Bools | None = None
    diverts: DiversionLook = NEVER_BELOW
    fetched: FairLook | None = None
    marginal: Bits | None = None
    low_ahead: Bools | None = None

    @classmethod
    def fair(cls, schedule: Schedule) -> LegWeather:
        """Return weather that stops nothing."""
        shape = schedule.looks.hours.open_.shape
        return cls(np.zeros(shape, dtype=np.uint32), np.zeros(shape, dtype=bool), np.zeros(shape),
                   np.zeros(len(schedule.trip), dtype=bool), np.zeros(shape))
