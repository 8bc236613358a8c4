"""What a station's table takes from its neighbours besides ceilings: thunder, freezing precipitation, the day's course.

Thunder is under-reported at many automatic stations and wildly over-reported at a few; the older archive was written by
people. Its days with thunder in an hourly report, averaged over stations around, follow the published thunderstorm days
of 133 places (recalled from climatological summaries) with a correlation of 0.96; an hourly report misses short storms.
"""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.derive.climate_estimate import Records
from missionsim.world.surface.day_course import day_course, stretched
from missionsim.world.surface.station_climate import BLOCKS, CLOCK_OF_HOUR, MONTH_DAYS, MONTH_OF_HOUR, MONTHS

THUNDER_REACH_NM, THUNDER_NM_PER_1000_FT, THUNDER_SHAPE_REACH_NM = 110.0, 40.0, 120.0
THUNDER_DAYS_OF_HEARD = (2.6, 0.84)
"""Thunderstorm days plus 1 are the first times days with thunder in an hourly report plus 1 to the power of the second:
fitted to the published days of 133 places."""
DAYS_OF_HOURS = (-0.122, 1.130, -0.0451)
DAYS_OF_GATHERING = (-0.250, -0.046, 0.107)
"""The logarithm of simulated days with thunder is a constant, plus factors of the logarithm of hours a year and of its
square, and of the logarithms of how gathered the hours are by month and by hour of the day (mean square over square
mean) and of the share of hours with a ceiling while there is thunder: the less cloud, the closer its hours stand
together. Measured on 400 years of 133 places, within 2 %. Without cloud and square, southeast and northeast had 8 % too
many days, the west 14 % too few."""
FREEZING_REACH_NM = 100.0
COURSE_REACH_NM = 120.0
SAME_PLACE_NM, SAME_PLACE_FT = 15.0, 300.0
_CELL = MONTH_OF_HOUR * BLOCKS + CLOCK_OF_HOUR // 3


def thunder_shares(records: Records, thunder: Bools, wanted: Ints, cloud_share: Floats) -> Floats:
    """Return the share of hours with thunder at stations, [n, 12, 8].

    Parameters
    ----------
    records : Records
    thunder : (s, 8760) bool            As reported, of all archives; only people's count where any are within 300 nm.
    wanted : (n,) int                   Stations.
    cloud_share : (n, 12, 8) array      Share of hours with a ceiling there.
    """
    people = records.archive != 0
    lonely = records.apart_nm(wanted, np.flatnonzero(people))[0].min(axis=1) > 300.0
    people[wanted[lonely]] = True
    people = np.flatnonzero(people)
    heard = thunder[people]
    days = heard.reshape(people.size, 365, 24).any(axis=2).sum(axis=1)
    hours = np.stack([np.bincount(_CELL, row, MONTHS * BLOCKS) for row in heard])
    apart = _apart_nm(records, wanted, people)
    near, wide = (np.exp(-0.5 * (apart / reach) ** 2) + 1e-9 * np.exp(-apart / 300.0)
                  for reach in (THUNDER_REACH_NM, THUNDER_SHAPE_REACH_NM))
    heard_days = (near @ days) / near.sum(axis=1)
    level = THUNDER_DAYS_OF_HEARD[0] * (heard_days + 1.0) ** THUNDER_DAYS_OF_HEARD[1] - 1.0
    shape = smooth_months_blocks((wide @ hours).reshape(-1, MONTHS, BLOCKS))
    width_h = 3.0 * np.array(MONTH_DAYS)[:, None]
    yearly = hours_of_days(level, shape, width_h, cloud_share)
    shape *= (yearly / np.maximum(shape.sum(axis=(1, 2)), 1e-9))[:, None, None]
    return np.asarray(shape / width_h)


def hours_of_days(days: Floats, shape: Floats, width_h: Floats, cloud_share: Floats) -> Floats:
    """Return the hours with thunder a year that give so many days in simulated years, [n].

    Parameters
    ----------
    days : (n,) array                  Days with thunder a year, above 0.
    shape : (n, 12, 8) array           Hours by month and block of the day, up to a factor.
    width_h : (12, 1) array            Hours in each.
    cloud_share : (n, 12, 8) array     Share of hours with a ceiling.
    """
    total = np.maximum(shape.sum(axis=(1, 2)), 1e-9)
    month_h, block_h = width_h[:, 0] * BLOCKS, np.full(BLOCKS, width_h.sum())
    year_h = month_h.sum() / total**2
    gathered = ((shape.sum(axis=2) ** 2 / month_h).sum(axis=1) * year_h,
                (shape.sum(axis=1) ** 2 / block_h).sum(axis=1) * year_h,
                (shape * cloud_share).sum(axis=(1, 2)) / total)
    constant, power, bend = DAYS_OF_HOURS
    for value, factor in zip(gathered, DAYS_OF_GATHERING, strict=True):
        constant = constant + factor * np.log(np.maximum(value, 1e-3))
    root = np.sqrt(power**2 - 4.0 * bend * (constant - np.log(days)))
    return np.asarray(np.exp((root - power) / (2.0 * bend)))


def freezing_shares(records: Records, share: Floats, wanted: Ints) -> Floats:
    """Return freezing precipitation shares [n, 12] averaged over neighbours and months; `share` [n, 12]."""
    weight = np.exp(-0.5 * (records.apart_nm(wanted, wanted)[0] / FREEZING_REACH_NM) ** 2)
    near = weight @ share / weight.sum(axis=1, keepdims=True)
    return 0.25 * np.roll(near, 1, 1) + 0.5 * near + 0.25 * np.roll(near, -1, 1)


def day_courses(records: Records, temperature_c: Floats, utc_offset_h: Floats, wanted: Ints) -> Floats:
    """Return the course of the day's temperature at stations by month and clock hour, [n, 12, 24]. [°C]

    Mean, mean maximum and mean minimum are the place's own, of both archives where both are there; how the day gets
    from one to the other is shared with stations around on the same standard time.

    Parameters
    ----------
    temperature_c : (s, 8760)   Reports of all archives.
    """
    every = [day_course(row) for row in temperature_c]
    mean, low, high, shape = (np.stack([getattr(c, name) for c in every]) for name in ("mean", "low", "high", "shape"))
    same = records.apart_nm(wanted, np.arange(records.archive.size))[0] <= SAME_PLACE_NM
    same &= np.abs(records.elevation_ft[wanted][:, None] - records.elevation_ft) <= SAME_PLACE_FT
    same &= records.archive != 0
    same[np.arange(wanted.size), wanted] = True
    weight = same / same.sum(axis=1, keepdims=True)
    around = np.exp(-0.5 * (records.apart_nm(wanted, wanted)[1] / COURSE_REACH_NM) ** 2)
    around *= utc_offset_h[wanted][:, None] == utc_offset_h[wanted]
    common = np.tensordot(around / around.sum(axis=1, keepdims=True), shape[wanted], 1)
    return stretched(weight @ mean, weight @ low, weight @ high, common)


def smooth_months_blocks(values: Floats) -> Floats:
    """Return cells [n, 12, 8] averaged over adjoining months and blocks."""
    out = 0.1 * np.roll(values, 1, 1) + 0.8 * values + 0.1 * np.roll(values, -1, 1)
    return np.asarray(0.2 * np.roll(out, 1, 2) + 0.6 * out + 0.2 * np.roll(out, -1, 2))


def _apart_nm(records: Records, a: Ints, b: Ints) -> Floats:
    rise = (records.elevation_ft[a][:, None] - records.elevation_ft[b]) / 1000.0
    return np.asarray(np.hypot(records.apart_nm(a, b)[0], THUNDER_NM_PER_1000_FT * rise))
