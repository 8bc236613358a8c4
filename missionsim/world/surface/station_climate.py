"""From a year of hourly reports of a station to its climate: cells (month, 3-hour block) to draw weather from.

The packaged tables and a user's own station file pass through the same functions.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from missionsim.base.arrays import Bools, Codes, Floats, Floats32, Ints
from missionsim.base.normal import normal_quantile
from missionsim.world.surface.day_course import day_course, stretched
from missionsim.world.surface.flight_category import category, ceiling_from_code, severity, visibility_from_code

MONTHS, BLOCKS, PAIRS = 12, 8, 48
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

PAIR_SHARE = np.repeat([0.005, 0.0175, 0.0475], [16, 20, 12])
"""Share of hours each of the 48 ranked pairs stands for, worst first: fine where weather decides."""

_SHARE_BELOW = np.cumsum(PAIR_SHARE) - PAIR_SHARE

LONE = np.array([0.331, 0.226, 0.067, 0.008, 0.009, 0.016, 0.017, 0.016, 0.009, 0.008, 0.067, 0.226])
"""What each month on record of a station without neighbours weighs, by months after the one wanted.

From `derive.climate_estimate` for a station alone; chosen as told there."""

MONTH_OF_HOUR = np.repeat(np.arange(MONTHS), 24 * np.array(MONTH_DAYS))
"""Month of each of the 8,760 hour-ending reports, in which the last one of a month is stamped 24:00."""

CLOCK_OF_HOUR = (np.arange(8760) + 1) % 24
"""Local standard clock hour at which each report was made."""

_CELL_OF_HOUR = MONTH_OF_HOUR * BLOCKS + CLOCK_OF_HOUR // 3
_VISIBILITIES = 101

LONE_WEIGHT = np.stack([np.roll(LONE, month) for month in range(MONTHS)])
"""The same for every month wanted, [12, 12]."""

@dataclass(frozen=True, slots=True)
class HourlyReports:
    """One year of hour-ending local-standard-time reports, 8,760 of each, in the codes of the raw tables.

    Parameters
    ----------
    ceiling_100ft, visibility_0p1sm : uint8     255 is no ceiling; 100 is 10 sm or more.
    temperature_c : float
    wind_from_deg, wind_kt : float              True, from; calm has 0 kt.
    pressure_hpa : float                        At the station.
    thunder, freezing_precip : bool             From the present-weather column.
    """

    ceiling_100ft: Codes
    visibility_0p1sm: Codes
    temperature_c: Floats
    wind_from_deg: Floats
    wind_kt: Floats
    pressure_hpa: Floats
    thunder: Bools
    freezing_precip: Bools


@dataclass(frozen=True, slots=True)
class StationClimate:
    """What a station's weather is drawn from. Cells are [month, 3-hour block of local standard time].

    Slopes are per unit of the latent weather rank (standard normal, low is bad weather), so that a dull
    afternoon is a cool one.
    """

    ceiling_100ft: Codes            # [12, 8, 48] worst first
    visibility_0p1sm: Codes         # [12, 8, 48] of the same reports
    temperature_c: Floats32          # [12, 24] by clock hour, see `day_course`
    temperature_sd_c: Floats32       # [12, 8]
    temperature_slope_c: Floats32    # [12, 8]
    wind_u_kt: Floats32              # [12, 8] mean eastward component
    wind_v_kt: Floats32              # [12, 8] mean northward component
    wind_sd_u_kt: Floats32           # [12, 8]
    wind_sd_v_kt: Floats32           # [12, 8]
    wind_correlation: Floats32       # [12, 8] of the two components
    pressure_hpa: Floats32           # [12]
    pressure_sd_hpa: Floats32        # [12]
    pressure_slope_hpa: Floats32     # [12]
    thunder_share: Floats32          # [12, 8]
    freezing_share: Floats32         # [12]


def station_climate(reports: HourlyReports, pairs: tuple[Codes, Codes] | None = None) -> StationClimate:
    """Return the climate of a station from its year of reports; thunder and freezing rain as reported.

    Parameters
    ----------
    pairs : two (12, 8, 48) arrays   Ceilings and visibilities from elsewhere; else from these reports alone.
    """
    ceiling, visibility = pairs or ranked_pairs(reports.ceiling_100ft, reports.visibility_0p1sm)
    rank = _rank_in_cell(reports)
    temperature, hours = _by_clock(reports.temperature_c)
    anomaly = reports.temperature_c - temperature[MONTH_OF_HOUR, CLOCK_OF_HOUR]
    pressure, pressure_sd, pressure_slope = _pressure(reports.pressure_hpa, rank)
    course = day_course(reports.temperature_c)
    values = {
        "temperature_c": stretched(course.mean, course.low, course.high, course.shape),
        "temperature_sd_c": np.sqrt(_cell_mean(anomaly**2)),
        "temperature_slope_c": _slope(anomaly, rank),
        **_wind(reports), "pressure_hpa": pressure, "pressure_sd_hpa": pressure_sd,
        "pressure_slope_hpa": pressure_slope,
        "thunder_share": _cell_mean(reports.thunder.astype(float)),
        "freezing_share": np.bincount(MONTH_OF_HOUR, reports.freezing_precip, MONTHS) / hours.sum(axis=1),
    }
    single = {key: np.asarray(value, dtype=np.float32) for key, value in values.items()}
    return StationClimate(ceiling, visibility, **single)


def ranked_pairs(ceiling_100ft: Codes, visibility_0p1sm: Codes, weight: Floats = LONE_WEIGHT,
                 ) -> tuple[Codes, Codes]:
    """Return 48 observed (ceiling, visibility) pairs for each cell, ranked worst first, out of weighted reports.

    One month on record is not the climate: each month draws on the reports of several, at the same hours of day.

    Parameters
    ----------
    ceiling_100ft, visibility_0p1sm : (n, 8760) or (8760,) uint8   Of one or more stations.
    weight : (12, n, 12) or (12, 12)   Of each month on record, by month wanted; those of a month sum to 1, some may be
                                       below 0, as the best linear estimates of a climate are.

    Returns
    -------
    two (12, 8, 48) uint8 arrays; pair k stands for the share `PAIR_SHARE[k]` of the hours.
    """
    ceiling, visibility = np.atleast_2d(ceiling_100ft), np.atleast_2d(visibility_0p1sm)
    weight = np.asarray(weight).reshape(MONTHS, len(ceiling), MONTHS) / (3.0 * np.array(MONTH_DAYS))
    order, rank, lowest = _code_ranks()
    ranks = rank.take(ceiling.astype(np.int64) * _VISIBILITIES + visibility)
    pick = np.empty((MONTHS, BLOCKS, PAIRS), dtype=np.int64)
    owed = np.zeros(MONTHS)
    for block in range(BLOCKS):
        hours = np.flatnonzero(block == CLOCK_OF_HOUR // 3)
        here, source = ranks[:, hours].ravel(), MONTH_OF_HOUR[hours]
        for month in range(MONTHS):
            each = np.bincount(here, weight[month][:, source].ravel(), order.size)
            # Weights below 0 may let the sum of shares fall for a step: it is held.
            filled = np.clip(np.maximum.accumulate(np.cumsum(each)), 0.0, None)
            where, owed[month] = _within_share(float(filled[lowest - 1] / filled[-1]), float(owed[month]))
            wanted = (_SHARE_BELOW + where * PAIR_SHARE) * filled[-1]
            pick[month, block] = np.minimum(np.searchsorted(filled, wanted, side="right"), order.size - 1)
    code = order.take(pick)
    return (code // _VISIBILITIES).astype(np.uint8), (code % _VISIBILITIES).astype(np.uint8)


@cache
def _code_ranks() -> tuple[Ints, Ints, int]:
    """Return all pairs of codes from the worst weather up, the rank of each pair, and how many of them are low."""
    code = np.arange(256 * _VISIBILITIES)
    ceiling_ft = ceiling_from_code((code // _VISIBILITIES).astype(np.uint8))
    visibility_sm = visibility_from_code((code % _VISIBILITIES).astype(np.uint8))
    order = np.argsort(severity(ceiling_ft, visibility_sm), kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    return order, rank, int((category(ceiling_ft, visibility_sm) >= 2).sum())


def _within_share(low: float, owed: float) -> tuple[float, float]:
    """Return where within its share each pair is picked, and what the month's low weather then is owed.

    48 pairs cut the share of low weather to whole steps; rounding up in one block and down in the next keeps the
    month's share within a fraction of a step.
    """
    k = int(np.searchsorted(_SHARE_BELOW, low, side="right")) - 1
    fraction = (low - _SHARE_BELOW[k]) / PAIR_SHARE[k]
    up = owed + fraction * PAIR_SHARE[k] >= 0.5 * PAIR_SHARE[k]
    if up:
        return 0.5 * fraction, owed + (fraction - 1.0) * PAIR_SHARE[k]
    return 0.5 * (1.0 + fraction), owed + fraction * PAIR_SHARE[k]


def _rank_in_cell(reports: HourlyReports) -> Floats:
    """Return the normal score of each report's weather within its cell; equal reports share their mean rank."""
    score = severity(ceiling_from_code(reports.ceiling_100ft), visibility_from_code(reports.visibility_0p1sm))
    from_below = np.empty(score.size)
    for cell in range(MONTHS * BLOCKS):
        hours = np.flatnonzero(cell == _CELL_OF_HOUR)
        ordered = np.sort(score[hours])
        low = np.searchsorted(ordered, score[hours], side="left")
        high = np.searchsorted(ordered, score[hours], side="right")
        from_below[hours] = 0.5 * (low + high) / hours.size
    return normal_quantile(np.clip(from_below, 1e-4, 1 - 1e-4))


def _by_clock(values: Floats) -> tuple[Floats, Ints]:
    index = MONTH_OF_HOUR * 24 + CLOCK_OF_HOUR
    hours = np.bincount(index, minlength=MONTHS * 24)
    return (np.bincount(index, values) / hours).reshape(MONTHS, 24), hours.reshape(MONTHS, 24)


def _cell_mean(values: Floats) -> Floats:
    counts = np.bincount(_CELL_OF_HOUR, minlength=MONTHS * BLOCKS)
    return (np.bincount(_CELL_OF_HOUR, values) / counts).reshape(MONTHS, BLOCKS)


def _slope(values: Floats, rank: Floats) -> Floats:
    return _cell_mean(values * rank) / np.maximum(_cell_mean(rank * rank), 1e-3)


def _wind(reports: HourlyReports) -> dict[str, Floats]:
    angle = np.radians(reports.wind_from_deg)
    east, north = -reports.wind_kt * np.sin(angle), -reports.wind_kt * np.cos(angle)
    mean_u, mean_v = _cell_mean(east), _cell_mean(north)
    sd_u = np.sqrt(np.maximum(_cell_mean(east * east) - mean_u**2, 0.01))
    sd_v = np.sqrt(np.maximum(_cell_mean(north * north) - mean_v**2, 0.01))
    shared = (_cell_mean(east * north) - mean_u * mean_v) / (sd_u * sd_v)
    return {"wind_u_kt": mean_u, "wind_v_kt": mean_v, "wind_sd_u_kt": sd_u, "wind_sd_v_kt": sd_v,
            "wind_correlation": np.clip(shared, -0.95, 0.95)}


def _pressure(values: Floats, rank: Floats,
              ) -> tuple[Floats, Floats, Floats]:
    counts = np.bincount(MONTH_OF_HOUR, minlength=MONTHS)
    mean = np.bincount(MONTH_OF_HOUR, values) / counts
    anomaly = values - mean[MONTH_OF_HOUR]
    sd = np.sqrt(np.bincount(MONTH_OF_HOUR, anomaly**2) / counts)
    slope = np.bincount(MONTH_OF_HOUR, anomaly * rank) / np.maximum(np.bincount(MONTH_OF_HOUR, rank * rank), 1.0)
    return mean, sd, slope
