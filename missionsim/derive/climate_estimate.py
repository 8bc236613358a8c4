"""How much each month of each station tells of the climate of another: weights to mix reports by.

A station's file holds one real month for each month of the year. Its share of low weather is the climate there plus
what made that year's month good or bad. The best linear estimate of the climate (kriging, a constant mean) weighs
the station's own month, its other months, its neighbours' and, where there is one, an older year, by three parts:

* climate of the year as a whole: wide (over hundreds of miles) and local;
* climate of the season: the same two, and alike in months near each other;
* departure of the year on record: its variance as large as the share of low weather thereabouts in that month, alike
  over some 220 nm between stations whose month comes from the same year, independent between years. A part of it is
  the station's own. Where it is never low, single months are believed.

Distances count elevation and how near the shore is. Sizes are relative to the departure of a year. They were chosen on
half of the country (boxes of two degrees) by how well the estimate meets *another* source year of the same place (the
record itself, its older year and every station within 15 nm of the place being no input) and the yearly share of
stations left out, and scored on the other half: see `derive.check_climate`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.world.surface.place_climate import distance_nm
from missionsim.world.surface.station_climate import MONTHS

NM_PER_1000_FT = 120.0
SHORE_NM, SHORE_FADE_NM = 35.0, 15.0
"""How many miles the difference between shore and inland counts for, and how far inland the shore is felt. [nm]"""
YEAR_WIDE, YEAR_WIDE_NM, YEAR_LOCAL, YEAR_LOCAL_NM = 0.25, 500.0, 0.05, 80.0
SEASON_WIDE, SEASON_WIDE_NM, SEASON_LOCAL, SEASON_LOCAL_NM = 0.8, 600.0, 0.05, 90.0
SEASON_WIDTH = 0.8
"""Width of the likeness of months on the circle of the year, 2 sin(half the angle between them)."""
DEPARTURE_NM, DEPARTURE_OWN = 220.0, 0.3
THEREABOUTS_NM, TYPICAL_SHARE, LEAST_SHARE, MOST_SHARE = 60.0, 0.1, 0.005, 0.08
SAME_ARCHIVE = 0.025
NEAREST, NEAREST_OLDER = 14, 4
_APART = np.minimum((np.arange(12)[:, None] - np.arange(12)) % 12, (np.arange(12) - np.arange(12)[:, None]) % 12)
_MONTHS_ALIKE = np.exp(-0.5 * (2.0 * np.sin(np.pi * _APART / 12) / SEASON_WIDTH) ** 2)


@dataclass(frozen=True)
class Records:
    """The stations of all archives, one after the other.

    Parameters
    ----------
    latitude_deg, longitude_deg, elevation_ft, shore_nm : (s,)
    archive : (s,) int           0 is the one whose climate is wanted.
    source_year : (s, 12) int    Real year of each month.
    low_share : (s, 12)          Share of IFR or worse of each month on record.
    """

    latitude_deg: Floats
    longitude_deg: Floats
    elevation_ft: Floats
    shore_nm: Floats
    archive: Ints
    source_year: Ints
    low_share: Floats

    def apart_nm(self, a: Ints, b: Ints) -> tuple[NDArray, NDArray]:
        """Return distances and effective distances between two lots of stations, (a, b). [nm]"""
        plain = distance_nm(self.latitude_deg[a], self.longitude_deg[a], self.latitude_deg[b], self.longitude_deg[b])
        rise = (self.elevation_ft[a][:, None] - self.elevation_ft[b]) / 1000.0
        shore = np.exp(-self.shore_nm / SHORE_FADE_NM)
        beside = shore[a][:, None] - shore[b]
        return plain, np.sqrt(plain**2 + (NM_PER_1000_FT * rise) ** 2 + (SHORE_NM * beside) ** 2)


def month_weights(records: Records, station: int, usable: Bools,
                  ) -> tuple[Ints, Floats]:
    """Return the stations that tell of the climate at a station, and the weight of each of their months.

    Parameters
    ----------
    records : Records
    station : int           Whose climate is wanted; counts itself only where usable.
    usable : (s,) bool      Stations that may be asked.

    Returns
    -------
    (k,) int               Stations.
    (12, k, 12) float      By month wanted, station, month on record; the weights of a month wanted sum to 1, a few are
                           below 0.
    """
    near = _nearest(records, station, usable)
    here = np.array([station])
    plain, apart = records.apart_nm(near, near)
    wanted = records.apart_nm(near, here)[1][:, 0]
    same_archive = records.archive[near][:, None] == records.archive[near]
    year = _falls(apart, YEAR_WIDE, YEAR_WIDE_NM, YEAR_LOCAL, YEAR_LOCAL_NM) + SAME_ARCHIVE * same_archive
    season = _falls(apart, SEASON_WIDE, SEASON_WIDE_NM, SEASON_LOCAL, SEASON_LOCAL_NM)
    covariance = year[:, None, :, None] + season[:, None, :, None] * _MONTHS_ALIKE[None, :, None, :]
    shared = np.exp(-plain / DEPARTURE_NM) * (1.0 - DEPARTURE_OWN) + DEPARTURE_OWN * np.eye(near.size)
    source, size = records.source_year[near], np.sqrt(_thereabouts(records.low_share[near], apart) / TYPICAL_SHARE)
    for month in range(MONTHS):
        same_year = source[:, None, month] == source[None, :, month]
        covariance[:, month, :, month] += shared * same_year * size[:, None, month] * size[None, :, month]
    to_year = (_falls(wanted, YEAR_WIDE, YEAR_WIDE_NM, YEAR_LOCAL, YEAR_LOCAL_NM)
               + SAME_ARCHIVE * (records.archive[near] == 0))
    to_season = _falls(wanted, SEASON_WIDE, SEASON_WIDE_NM, SEASON_LOCAL, SEASON_LOCAL_NM)
    to_wanted = to_year[:, None, None] + to_season[:, None, None] * _MONTHS_ALIKE
    count = near.size * MONTHS
    system = np.ones((count + 1, count + 1))
    system[:count, :count], system[count, count] = covariance.reshape(count, count), 0.0
    right = np.concatenate([to_wanted.reshape(count, MONTHS), np.ones((1, MONTHS))])
    return near, np.linalg.solve(system, right)[:count].T.reshape(MONTHS, near.size, MONTHS)


def _nearest(records: Records, station: int, usable: Bools) -> Ints:
    every = np.flatnonzero(usable)
    apart = records.apart_nm(np.array([station]), every)[1][0]
    order = every[np.argsort(apart, kind="stable")]
    own, older = order[records.archive[order] == 0][:NEAREST], order[records.archive[order] != 0][:NEAREST_OLDER]
    return np.concatenate([own, older])


def _thereabouts(share: NDArray, apart: NDArray) -> Floats:
    """Return the share of low weather around each station by month, [k, 12], smoothed over adjoining months."""
    smooth = 0.25 * np.roll(share, 1, axis=1) + 0.5 * share + 0.25 * np.roll(share, -1, axis=1)
    weight = np.exp(-apart / THEREABOUTS_NM)
    return np.asarray(np.clip(weight @ smooth / weight.sum(axis=1, keepdims=True), LEAST_SHARE, MOST_SHARE))


def _falls(apart: NDArray, wide: float, wide_nm: float, local: float, local_nm: float) -> Floats:
    return np.asarray(wide * np.exp(-apart / wide_nm) + local * np.exp(-apart / local_nm))
