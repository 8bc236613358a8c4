"""Mean winds and temperatures aloft by place, level and day, and their day-to-day scatter.

The yearly course is a cosine through mid January and mid July, times what spring has over autumn: more in the south,
less in the north. Of a part that comes twice a year only winds far above light aircraft tell; it is left out. Between
pressure levels everything is linear in the logarithm of pressure. Below 850 hPa the wind keeps its direction and calms
towards the ground; terrain is not known
here, so over high ground the lowest levels are those of the free air nearby. Winds are true and *from*.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Array, Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.physics.atmosphere import level_ft_of_pressure, pressure_hpa, standard_temperature_c
from missionsim.physics.wind import from_uv
from missionsim.world.data import table
from missionsim.world.random_fields.lattice import cos_sin

LEVEL_GRID_FT = (2000, 4000, 6000, 8000, 10000, 12000, 14000, 18000, 24000)
"""Levels at which winds aloft are computed; cruising levels between them are interpolated. [ft]"""

COLDEST_DAY = 14.5
"""Middle of January, in days since the year began: the first of the two months the means are given for."""

DAYS_PER_YEAR = 365.0
TABLE_TOP_FT = 38_000.0
_MID_MONTH_DAY = (14.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5)
_REGION_LAT_DEG, _REGION_LON_DEG = 8.0, 16.0
_CALMING_HPA = 850.0



@dataclass(frozen=True, slots=True)
class AloftMonth:
    """What is assumed aloft over a place in a month, by level.

    Parameters
    ----------
    level_ft : (l,) array              Pressure altitude. [ft]
    wind_from_deg, wind_kt             Direction and speed of the mean *vector*. [deg], [kt]
    scatter_kt                         Standard vector deviation about it. [kt]
    temperature_c, temperature_scatter_c   Mean and standard deviation. [°C]
    """

    level_ft: Floats
    wind_from_deg: Floats
    wind_kt: Floats
    scatter_kt: Floats
    temperature_c: Floats
    temperature_scatter_c: Floats


def season(day: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return cosine and sine of the phase of the year, and the cosine of twice that phase; 1, 0, 1 in mid January."""
    phase = 2.0 * math.pi * (np.asarray(day, dtype=np.float64) - COLDEST_DAY) / DAYS_PER_YEAR
    return np.cos(phase), np.sin(phase), np.cos(2.0 * phase)


class UpperAir:
    """Means and scatter aloft over the globe; the scatter is meant for North America and nearest there.

    Parameters
    ----------
    arrays : mapping            The packaged table `upper_air`.
    assumptions : Assumptions   Group `winds`.
    """

    def __init__(self, arrays: Mapping[str, Array], assumptions: Assumptions) -> None:
        scale = float(arrays["resolution"])
        self._lat = arrays["latitude_deg"].astype(np.float64)
        self._lon = arrays["longitude_deg"].astype(np.float64)
        self._wind_hpa, self._deviation_hpa = arrays["wind_hpa"], arrays["deviation_hpa"]
        self._u, self._v, self._deviation = (
            _base_and_amplitude(arrays[key].astype(np.float64) * scale) for key in ("u_kt", "v_kt", "deviation_c"))
        self._ground_share = float(assumptions["winds.ground_share"])
        self._spring_lat_deg, self._spring_share = np.array(assumptions["winds.spring_share"], dtype=np.float64).T
        self._scatter_hpa = np.array(assumptions["winds.scatter_levels_hpa"], dtype=np.float64)
        centres = assumptions["winds.scatter_centres_deg"]
        self._centres = np.array([centres[name] for name in sorted(centres)], dtype=np.float64)
        by_region = assumptions["winds.scatter_kt"]
        self._scatter = _harmonics(np.array([by_region[name] for name in sorted(centres)], dtype=np.float64))
        ends = np.array(assumptions["winds.temperature_scatter_c"], dtype=np.float64)
        self._temperature_scatter = np.stack([ends.mean(axis=1), 0.5 * (ends[:, 0] - ends[:, 1])])
        self._low_latitude_share = float(assumptions["winds.temperature_low_latitude_share"])

    @classmethod
    def packaged(cls, assumptions: Assumptions) -> UpperAir:
        """Return the means that come with the program."""
        return cls(table("upper_air"), assumptions)

    def mean(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike, day: ArrayLike
             ) -> tuple[Floats, Floats, Floats]:
        """Return the mean wind and temperature.

        Parameters
        ----------
        lat, lon, level_ft, day : arrays that broadcast   Place [deg], pressure altitude, below 38,000 [ft], days
                                                          since the year began, any number.

        Returns
        -------
        u_kt, v_kt : arrays     Eastward and northward motion of the air. [kt]
        temperature_c : array   [°C]

        Raises
        ------
        ValidityError           If a level lies above 38,000 or below -2,000 ft, or a latitude beyond a pole.
        """
        base, amplitude = self.mean_cycle(lat, lon, level_ft)
        wave, spring, _ = season(day)
        u, v, t = (base[i] + amplitude[i] * wave for i in range(3))
        more = 1.0 + self.spring_share(lat) * spring
        return u * more, v * more, t

    def spring_share(self, lat: ArrayLike) -> Floats:
        """Return by what share the mean wind of mid April exceeds that of the plain cosine; October falls as short."""
        north = np.asarray(lat, dtype=np.float64)
        return np.asarray(np.sign(north) * np.interp(np.abs(north), self._spring_lat_deg, self._spring_share))

    def mean_cycle(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike) -> tuple[Floats, Floats]:
        """Return base and amplitude of (u_kt, v_kt, temperature_c), each (3, ...).

        The mean of a day is base + amplitude x the first of `season`, winds times 1 + `spring_share` x the second.
        Arguments and errors as for `mean`.
        """
        level = _checked_level(level_ft)
        calm = self._calming(level)
        out = []
        for half in (0, 1):
            u, v = (self._at(field[half], self._wind_hpa, lat, lon, level) * calm for field in (self._u, self._v))
            t = self._at(self._deviation[half], self._deviation_hpa, lat, lon, level)
            out.append(np.stack([u, v, t + standard_temperature_c(level) if half == 0 else t]))
        return out[0], out[1]

    def scatter_kt(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike, day: ArrayLike) -> Floats:
        """Return the standard vector deviation of the wind; arguments and errors as for `mean`. [kt]."""
        cycle, (cosine, sine, double) = self.scatter_cycle(lat, lon, level_ft), season(day)
        return np.asarray(cycle[0] + cycle[1] * cosine + cycle[2] * sine + cycle[3] * double)

    def scatter_cycle(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike) -> Floats:
        """Return the factors (4, ...) of 1 and the three of `season` that make up the scatter. [kt]."""
        level = _checked_level(level_ft)
        hats = _hats(self._scatter_hpa, level, beyond=250.0)
        place = self._region_shares(lat, lon)
        north = np.clip(np.asarray(lat, dtype=np.float64) / 10.0, -1.0, 1.0)  # seasons turn round at the equator
        calm = self._calming(level)
        parts = []
        for h in range(4):
            total: Any = 0.0
            for j in range(len(self._scatter_hpa)):
                regional: Any = 0.0
                for r in range(len(self._centres)):
                    regional = regional + place[r] * self._scatter[h, r, j]
                total = total + regional * hats[j]
            parts.append(total * calm * (north if h in {1, 2} else 1.0))
        return np.stack(np.broadcast_arrays(*parts))

    def temperature_scatter_c(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike, day: ArrayLike) -> Floats:
        """Return the standard deviation of temperature; arguments and errors as for `mean`. [°C]."""
        cycle = self.temperature_scatter_cycle(lat, lon, level_ft)
        return np.asarray(cycle[0] + cycle[1] * season(day)[0])

    def temperature_scatter_cycle(self, lat: ArrayLike, lon: ArrayLike, level_ft: ArrayLike) -> Floats:
        """Return base and amplitude (2, ...) of the scatter of temperature. The longitude does not matter. [°C]."""
        level = _checked_level(level_ft)
        hats = _hats(self._scatter_hpa, level)
        latitude, _ = np.broadcast_arrays(np.asarray(lat, dtype=np.float64), np.asarray(lon, dtype=np.float64))
        ramp = np.clip((np.abs(latitude) - 10.0) / 30.0, 0.0, 1.0)
        share = self._low_latitude_share + (1.0 - self._low_latitude_share) * ramp
        north = np.clip(latitude / 10.0, -1.0, 1.0)
        base, amplitude = (sum(self._temperature_scatter[i, j] * hats[j] for j in range(len(hats))) for i in (0, 1))
        return np.stack([base * share, amplitude * share * north])

    def climatology(self, lat: float, lon: float, month: int, level_ft: ArrayLike = LEVEL_GRID_FT) -> AloftMonth:
        """Return what is assumed aloft over a place in the middle of a month, 1 to 12.

        Parameters
        ----------
        lat, lon : float   [deg]
        month : int        1 to 12.
        level_ft : array   Level. [ft]
        """
        if not 1 <= month <= 12:
            raise ValidityError(f"UpperAir.climatology: month is {month}; accepted: 1 to 12")
        level, day = np.asarray(level_ft, dtype=np.float64), _MID_MONTH_DAY[month - 1]
        u, v, temperature = self.mean(lat, lon, level, day)
        direction, speed = from_uv(u, v)
        return AloftMonth(level, np.asarray(direction, dtype=np.float64), np.asarray(speed, dtype=np.float64),
                          self.scatter_kt(lat, lon, level, day), temperature,
                          self.temperature_scatter_c(lat, lon, level, day))

    def _calming(self, level: Floats) -> Floats:
        ramp = np.clip(level / float(level_ft_of_pressure(_CALMING_HPA)), 0.0, 1.0)
        return np.asarray(self._ground_share + (1.0 - self._ground_share) * ramp)

    def _at(self, field: Floats, pressures: Array, lat: ArrayLike, lon: ArrayLike, level: Floats) -> Floats:
        """Interpolate a field (level, lat, lon): bilinear in place, linear in log pressure."""
        y = _checked_latitude(lat)
        spacing = self._lat[1] - self._lat[0]
        row = np.clip((y - self._lat[0]) / spacing, 0.0, len(self._lat) - 1.000001)
        column = np.mod((np.asarray(lon, dtype=np.float64) - self._lon[0]) / spacing, len(self._lon))
        r0, c0 = row.astype(np.int64), column.astype(np.int64) % len(self._lon)
        fr, fc = row - np.floor(row), column - np.floor(column)
        r1, c1 = r0 + 1, (c0 + 1) % len(self._lon)
        hats = _hats(pressures, level)
        total: Any = 0.0
        for j in range(len(pressures)):
            south = field[j, r0, c0] * (1.0 - fc) + field[j, r0, c1] * fc
            north = field[j, r1, c0] * (1.0 - fc) + field[j, r1, c1] * fc
            total = total + (south * (1.0 - fr) + north * fr) * hats[j]
        return np.asarray(total)

    def _region_shares(self, lat: ArrayLike, lon: ArrayLike) -> list[Floats]:
        """Return each region's share at a place: inverse distance, latitude counting twice as much as longitude."""
        y = _checked_latitude(lat)
        cosine, sine = cos_sin(lon)
        weights = []
        for centre_lat, centre_lon in self._centres.tolist():
            centre_cos, centre_sin = cos_sin(centre_lon)
            chord2 = 2.0 - 2.0 * (cosine * centre_cos + sine * centre_sin)
            up = (np.abs(y) - centre_lat) / _REGION_LAT_DEG
            distance2 = 0.15 + up * up + chord2 * (math.degrees(1.0) / _REGION_LON_DEG) ** 2
            weights.append(1.0 / (distance2 * distance2 * distance2))
        total = sum(weights[1:], start=weights[0])
        return [w / total for w in weights]


def _base_and_amplitude(field: Floats) -> tuple[Floats, Floats]:
    return 0.5 * (field[0] + field[1]), 0.5 * (field[0] - field[1])


def _harmonics(seasons: Floats) -> Floats:
    """Return the four factors, first axis, that pass through four seasons a quarter of a year apart, last axis."""
    winter, spring, summer, autumn = np.moveaxis(seasons, -1, 0)
    return np.stack([(winter + spring + summer + autumn) / 4.0, (winter - summer) / 2.0, (spring - autumn) / 2.0,
                     (winter - spring + summer - autumn) / 4.0])


def _hats(pressures: Array, level_ft: Floats, beyond: float | None = None) -> list[Floats]:
    """Return the share of each pressure level, linear in log pressure, constant outside.

    With `beyond`, the last two levels carry on in a straight line up to that pressure. [hPa]
    """
    ln = -np.log(np.asarray(pressures, dtype=np.float64))
    top = ln[-1] if beyond is None else -math.log(beyond)
    x = np.clip(-np.log(pressure_hpa(level_ft)), ln[0], top)
    below = np.clip(np.searchsorted(ln, x, side="right") - 1, 0, len(ln) - 2)
    rise = (x - ln[below]) / (ln[below + 1] - ln[below])
    return [np.where(below == j, 1.0 - rise, np.where(below + 1 == j, rise, 0.0)) for j in range(len(ln))]


def _checked_level(level_ft: ArrayLike) -> Floats:
    level = np.asarray(level_ft, dtype=np.float64)
    if level.size and not (level.min() >= -2000.0 and level.max() <= TABLE_TOP_FT):
        raise ValidityError(f"UpperAir: level_ft spans {level.min():,.0f} to {level.max():,.0f}; "
                            f"accepted: -2,000 to {TABLE_TOP_FT:,.0f}")
    return level


def _checked_latitude(lat: ArrayLike) -> Floats:
    y = np.asarray(lat, dtype=np.float64)
    if y.size and not np.abs(y).max() <= 90.0:
        raise ValidityError(f"UpperAir: latitude spans {y.min()} to {y.max()}; accepted: -90 to 90")
    return y
