"""From a year of hourly reports of a station to its climate: cells (month, 3-hour block) to draw weather from.

The packaged tables and a user's own station file pass through the same functions.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from missionsim.base.normal import normal_quantile
from missionsim.world.surface.flight_category import category, ceiling_from_code, severity, visibility_from_code

MONTHS, BLOCKS, PAIRS = 12, 8, 48
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

PAIR_SHARE = np.repeat([0.005, 0.0175, 0.0475], [16, 20, 12])
"""Share of hours each of the 48 ranked pairs stands for, worst first: fine where weather decides."""

_SHARE_BELOW = np.cumsum(PAIR_SHARE) - PAIR_SHARE

MONTH_OF_HOUR = np.repeat(np.arange(MONTHS), 24 * np.array(MONTH_DAYS))
"""Month of each of the 8,760 hour-ending reports, in which the last one of a month is stamped 24:00."""

CLOCK_OF_HOUR = (np.arange(8760) + 1) % 24
"""Local standard clock hour at which each report was made."""

_CELL_OF_HOUR = MONTH_OF_HOUR * BLOCKS + CLOCK_OF_HOUR // 3
_THIN = 20          # reports of low weather (IFR or worse) below which adjoining cells lend theirs
_LENT = 0.35        # weight of a lent report
_BLOCK_KERNEL = (0.1, 0.8, 0.1)


@dataclass(frozen=True, slots=True)
class HourlyReports:
    """One year of hour-ending local-standard-time reports, 8,760 of each, in the codes of the raw tables.

    Parameters
    ----------
    ceiling_100ft, visibility_0p1sm : uint8     255 is no ceiling; 100 is 10 sm or more.
    temperature_c, dewpoint_c : float
    wind_from_deg, wind_kt : float              True, from; calm has 0 kt.
    pressure_hpa : float                        At the station.
    thunder, freezing_precip : bool             From the present-weather column.
    """

    ceiling_100ft: NDArray[np.uint8]
    visibility_0p1sm: NDArray[np.uint8]
    temperature_c: NDArray[np.float64]
    dewpoint_c: NDArray[np.float64]
    wind_from_deg: NDArray[np.float64]
    wind_kt: NDArray[np.float64]
    pressure_hpa: NDArray[np.float64]
    thunder: NDArray[np.bool_]
    freezing_precip: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class StationClimate:
    """What a station's weather is drawn from. Cells are [month, 3-hour block of local standard time].

    Slopes are per unit of the latent weather rank (standard normal, low is bad weather), so that a dull
    afternoon is a cool one and fog comes with a small dew point spread.
    """

    ceiling_100ft: NDArray[np.uint8]            # [12, 8, 48] worst first
    visibility_0p1sm: NDArray[np.uint8]         # [12, 8, 48] of the same reports
    temperature_c: NDArray[np.float32]          # [12, 24] mean by clock hour
    temperature_sd_c: NDArray[np.float32]       # [12, 8]
    temperature_slope_c: NDArray[np.float32]    # [12, 8]
    spread_log: NDArray[np.float32]             # [12, 8] mean of log(1 + dew point spread)
    spread_slope: NDArray[np.float32]           # [12, 8] per unit of rank
    spread_per_c: NDArray[np.float32]           # [12, 8] per degree of temperature anomaly
    wind_u_kt: NDArray[np.float32]              # [12, 8] mean eastward component
    wind_v_kt: NDArray[np.float32]              # [12, 8] mean northward component
    wind_sd_u_kt: NDArray[np.float32]           # [12, 8]
    wind_sd_v_kt: NDArray[np.float32]           # [12, 8]
    wind_correlation: NDArray[np.float32]       # [12, 8] of the two components
    pressure_hpa: NDArray[np.float32]           # [12]
    pressure_sd_hpa: NDArray[np.float32]        # [12]
    pressure_slope_hpa: NDArray[np.float32]     # [12]
    thunder_share: NDArray[np.float32]          # [12, 8]
    freezing_share: NDArray[np.float32]         # [12]


def station_climate(reports: HourlyReports) -> StationClimate:
    """Return the climate of a station from its year of reports; thunder and freezing rain as reported."""
    ceiling, visibility = ranked_pairs(reports.ceiling_100ft, reports.visibility_0p1sm)
    rank = _rank_in_cell(reports)
    temperature, hours = _by_clock(reports.temperature_c)
    anomaly = reports.temperature_c - temperature[MONTH_OF_HOUR, CLOCK_OF_HOUR]
    spread = np.log1p(np.maximum(reports.temperature_c - reports.dewpoint_c, 0.0))
    spread_mean = _cell_mean(spread)
    to_rank, to_anomaly = _two_slopes(spread - spread_mean.ravel()[_CELL_OF_HOUR], rank, anomaly)
    pressure, pressure_sd, pressure_slope = _pressure(reports.pressure_hpa, rank)
    values = {
        "temperature_c": temperature, "temperature_sd_c": np.sqrt(_cell_mean(anomaly**2)),
        "temperature_slope_c": _slope(anomaly, rank),
        "spread_log": spread_mean, "spread_slope": to_rank, "spread_per_c": to_anomaly,
        **_wind(reports), "pressure_hpa": pressure, "pressure_sd_hpa": pressure_sd,
        "pressure_slope_hpa": pressure_slope,
        "thunder_share": _cell_mean(reports.thunder.astype(float)),
        "freezing_share": np.bincount(MONTH_OF_HOUR, reports.freezing_precip, MONTHS) / hours.sum(axis=1),
    }
    single = {key: np.asarray(value, dtype=np.float32) for key, value in values.items()}
    return StationClimate(ceiling, visibility, **single)


def ranked_pairs(ceiling_100ft: NDArray[np.uint8], visibility_0p1sm: NDArray[np.uint8],
                 ) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Return 48 observed (ceiling, visibility) pairs for each cell, ranked worst first.

    The shares of the flight categories are the cell's own (a tenth shared with each neighbouring block, which
    leaves the month's shares alone); where reports of low weather are few, those of adjoining months and blocks
    fill the categories, so that the low end is not made of two or three reports.

    Parameters
    ----------
    ceiling_100ft, visibility_0p1sm : (8760,) uint8

    Returns
    -------
    two (12, 8, 48) uint8 arrays; pair k stands for the share `PAIR_SHARE[k]` of the hours.
    """
    ceiling_ft, visibility_sm = ceiling_from_code(ceiling_100ft), visibility_from_code(visibility_0p1sm)
    score, kind = severity(ceiling_ft, visibility_sm), category(ceiling_ft, visibility_sm)
    shares = _category_shares(kind)
    members = [np.flatnonzero(cell == _CELL_OF_HOUR) for cell in range(MONTHS * BLOCKS)]
    pick = np.empty((MONTHS, BLOCKS, PAIRS), dtype=np.int64)
    for month in range(MONTHS):
        owed = 0.0
        for block in range(BLOCKS):
            hours, weight = _lent_to(members, month, block, kind, shares[month, block])
            order = np.lexsort((hours, score[hours]))
            filled = np.cumsum(weight[order])
            where, owed = _within_share(float(shares[month, block, 2:].sum()), owed)
            wanted = (_SHARE_BELOW + where * PAIR_SHARE) * filled[-1]
            at = np.minimum(np.searchsorted(filled, wanted), hours.size - 1)  # rounding at the very end
            pick[month, block] = hours[order[at]]
    return ceiling_100ft[pick], visibility_0p1sm[pick]


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


def _category_shares(kind: NDArray[np.int8]) -> NDArray[np.float64]:
    counts = np.bincount(_CELL_OF_HOUR * 4 + kind, minlength=MONTHS * BLOCKS * 4).reshape(MONTHS, BLOCKS, 4)
    shares = counts / counts.sum(axis=2, keepdims=True)
    before, own, after = _BLOCK_KERNEL
    return before * np.roll(shares, 1, axis=1) + own * shares + after * np.roll(shares, -1, axis=1)


def _lent_to(members: list[NDArray[np.int64]], month: int, block: int, kind: NDArray[np.int8],
             share: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    own = members[month * BLOCKS + block]
    near = [month * BLOCKS + (block + 1) % BLOCKS, month * BLOCKS + (block - 1) % BLOCKS]
    if (kind[own] >= 2).sum() < _THIN:
        near += [(month + 1) % MONTHS * BLOCKS + block, (month - 1) % MONTHS * BLOCKS + block]
    lent = np.concatenate([members[cell] for cell in near])
    hours = np.concatenate([own, lent])
    weight = np.concatenate([np.ones(own.size), np.full(lent.size, _LENT)])
    have = np.bincount(kind[hours], weight, 4)
    scale = np.divide(share, have, out=np.zeros(4), where=have > 0.0)
    return hours, weight * scale[kind[hours]]


def _rank_in_cell(reports: HourlyReports) -> NDArray[np.float64]:
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


def _by_clock(values: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    index = MONTH_OF_HOUR * 24 + CLOCK_OF_HOUR
    hours = np.bincount(index, minlength=MONTHS * 24)
    return (np.bincount(index, values) / hours).reshape(MONTHS, 24), hours.reshape(MONTHS, 24)


def _cell_mean(values: NDArray[np.float64]) -> NDArray[np.float64]:
    counts = np.bincount(_CELL_OF_HOUR, minlength=MONTHS * BLOCKS)
    return (np.bincount(_CELL_OF_HOUR, values) / counts).reshape(MONTHS, BLOCKS)


def _slope(values: NDArray[np.float64], rank: NDArray[np.float64]) -> NDArray[np.float64]:
    return _cell_mean(values * rank) / np.maximum(_cell_mean(rank * rank), 1e-3)


def _two_slopes(values: NDArray[np.float64], rank: NDArray[np.float64], anomaly: NDArray[np.float64],
                ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the two slopes of a least-squares fit in each cell."""
    rr, aa, ra = _cell_mean(rank * rank), _cell_mean(anomaly * anomaly), _cell_mean(rank * anomaly)
    vr, va = _cell_mean(values * rank), _cell_mean(values * anomaly)
    determinant = np.maximum(rr * aa - ra * ra, 1e-3)
    return (vr * aa - va * ra) / determinant, (va * rr - vr * ra) / determinant


def _wind(reports: HourlyReports) -> dict[str, NDArray[np.float64]]:
    angle = np.radians(reports.wind_from_deg)
    east, north = -reports.wind_kt * np.sin(angle), -reports.wind_kt * np.cos(angle)
    mean_u, mean_v = _cell_mean(east), _cell_mean(north)
    sd_u = np.sqrt(np.maximum(_cell_mean(east * east) - mean_u**2, 0.01))
    sd_v = np.sqrt(np.maximum(_cell_mean(north * north) - mean_v**2, 0.01))
    shared = (_cell_mean(east * north) - mean_u * mean_v) / (sd_u * sd_v)
    return {"wind_u_kt": mean_u, "wind_v_kt": mean_v, "wind_sd_u_kt": sd_u, "wind_sd_v_kt": sd_v,
            "wind_correlation": np.clip(shared, -0.95, 0.95)}


def _pressure(values: NDArray[np.float64], rank: NDArray[np.float64],
              ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    counts = np.bincount(MONTH_OF_HOUR, minlength=MONTHS)
    mean = np.bincount(MONTH_OF_HOUR, values) / counts
    anomaly = values - mean[MONTH_OF_HOUR]
    sd = np.sqrt(np.bincount(MONTH_OF_HOUR, anomaly**2) / counts)
    slope = np.bincount(MONTH_OF_HOUR, anomaly * rank) / np.maximum(np.bincount(MONTH_OF_HOUR, rank * rank), 1.0)
    return mean, sd, slope


FIELD_NAMES = tuple(f.name for f in fields(StationClimate))
