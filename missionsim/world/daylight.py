"""Civil dawn and dusk at a place for a simulated year. Night (14 CFR 1.1) is from civil dusk to civil dawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import numpy.typing as npt
from astral import Observer
from astral.sun import dawn, dusk, elevation

DAYS = 366 + 21 + 1
"""A leap year, the weeks that trips may run into the next one, and the day they end."""

STEP_DAYS = 5
CIVIL_DEG = 6.0
_STEADY_LATITUDE_DEG = 56.0
"""Farther from the equator the twilight changes too fast to interpolate between every fifth day."""


@dataclass(frozen=True)
class Daylight:
    """Civil dawn and dusk of every local (mean solar) day.

    Parameters
    ----------
    longitude_deg : float            West negative; sets where a local day begins. [deg]
    dawn_h, dusk_h : (388,) arrays   Of local day 0 (1 January) on, in UTC hours of the year. Where it never gets dark,
                                     a day runs from midnight to midnight; in polar night dawn equals dusk. [h]
    """

    longitude_deg: float
    dawn_h: np.ndarray = field(repr=False)
    dusk_h: np.ndarray = field(repr=False)

    @classmethod
    def at(cls, latitude_deg: float, longitude_deg: float, year: int) -> Daylight:
        """Return the daylight of a place in a year, computed every fifth day and interpolated (every day far north)."""
        step = STEP_DAYS if abs(latitude_deg) <= _STEADY_LATITUDE_DEG else 1
        days = np.arange(0, DAYS + step, step)
        observer = Observer(latitude_deg, longitude_deg)
        exact = np.array([_dawn_dusk_h(observer, year, int(d)) for d in days])
        wanted = np.arange(DAYS)
        dawn_h, dusk_h = (24.0 * wanted + np.interp(wanted, days, column - 24.0 * days) for column in exact.T)
        for column in (dawn_h, dusk_h):
            column.setflags(write=False)
        return cls(longitude_deg, dawn_h, dusk_h)

    def is_dark(self, time_h: npt.ArrayLike) -> np.ndarray:
        """Return whether it is night at UTC hours of the year; days beyond either end of the table are as its last."""
        time_h = np.asarray(time_h, dtype=float)
        dawn_h, dusk_h = self.of_day(self.day_of(time_h))
        return np.asarray((time_h < dawn_h) | (time_h >= dusk_h))

    def day_of(self, time_h: npt.ArrayLike) -> np.ndarray:
        """Return the local day, 0 for 1 January, of UTC hours of the year."""
        local_h = np.asarray(time_h, dtype=float) + self.longitude_deg / 15.0
        return np.asarray(np.floor(local_h / 24.0).astype(int))

    def of_day(self, day: npt.ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Return dawn and dusk of local days in UTC hours of the year."""
        day = np.asarray(day, dtype=int)
        row = np.clip(day, 0, DAYS - 1)
        shift_h = 24.0 * (day - row)
        return self.dawn_h[row] + shift_h, self.dusk_h[row] + shift_h


def _dawn_dusk_h(observer: Observer, year: int, day: int) -> tuple[float, float]:
    """Return dawn and dusk of one local day in UTC hours of the year."""
    solar_zone = timezone(timedelta(hours=observer.longitude / 15.0))
    on = date(year, 1, 1) + timedelta(days=day)
    noon_h = 24.0 * day + 12.0 - observer.longitude / 15.0
    try:
        found = [f(observer, on, CIVIL_DEG, solar_zone) for f in (dawn, dusk)]
    except ValueError:
        return _polar_h(observer, year, noon_h)
    hours = [(moment - datetime(year, 1, 1, tzinfo=UTC)) / timedelta(hours=1) for moment in found]
    # Close to the polar circle dusk may fall past midnight and be given for the day before: bring it to this day.
    hours = [h - 24.0 * round((h - noon_h - side) / 24.0) for h, side in zip(hours, (-6.0, 6.0), strict=True)]
    return hours[0], hours[1]


def _polar_h(observer: Observer, year: int, noon_h: float) -> tuple[float, float]:
    noon = datetime(year, 1, 1, tzinfo=UTC) + timedelta(hours=noon_h)
    if elevation(observer, noon, with_refraction=False) > -CIVIL_DEG:
        return noon_h - 12.0, noon_h + 12.0
    return noon_h, noon_h
