"""How years differ, how far low weather hangs together by season, and on how many days two places can both be flown.

All measures take low weather by hour-ending local standard time, [place, 8760], of one year on record or of simulated
ones, and count pairs of places on the same standard time.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.world.surface.station_climate import CLOCK_OF_HOUR, MONTH_DAYS, MONTH_OF_HOUR, MONTHS

WINTER, SUMMER, EVERY = (10, 11, 0, 1, 2), (4, 5, 6, 7, 8), tuple(range(12))
"""Months of the two halves of the year that are compared."""
SEASONS = {"year": EVERY, "Nov-Mar": WINTER, "May-Sep": SUMMER}
COMMON_BINS_NM = ((15.0, 30.0), (50.0, 75.0), (100.0, 150.0), (200.0, 300.0), (300.0, 400.0), (400.0, 600.0))
DRAWN_AGAIN = 400
PAIR_BINS_NM = ((15.0, 30.0), (30.0, 50.0), (75.0, 100.0), (100.0, 150.0), (200.0, 300.0), (300.0, 400.0))
MORNING, DAY = (9, 12), (8, 18)
"""First and last clock hour of the reports of a fixed morning window, and of the day any three hours may lie in."""
_END = np.concatenate([[0], np.cumsum(MONTH_DAYS)]) * 24


def month_shares(low: Bools) -> Floats:
    """Return the share of low weather by month, [..., 12]."""
    return np.stack([low[..., month == MONTH_OF_HOUR].mean(axis=-1) for month in range(MONTHS)], axis=-1)


def between_years(shares: Floats, months: Sequence[int]) -> float:
    """Return the standard deviation of a month's share between years, pooled over places and months; [year, p, 12]."""
    return float(np.sqrt(shares[:, :, list(months)].var(axis=0, ddof=1).mean()))


def common_part(shares: Floats, distance: Floats, near: float, far: float, months: Sequence[int],
                ) -> tuple[float, float]:
    """Return the correlation of the departures of months between places so far apart, and its standard error.

    The error is that of the years drawn: each is one sample of all pairs, which are anything but independent.

    Parameters
    ----------
    shares : (year, station, month) array   Share of low weather.
    distance : (station, station) array     [nm]
    near, far : float                       Least and most distance. [nm]
    months : sequence of int                January 0.
    """
    d = shares[:, :, list(months)] - shares[:, :, list(months)].mean(axis=0)
    first, second = np.nonzero(np.triu((distance >= near) & (distance < far), 1))
    size = np.sqrt((d * d).sum(axis=0))
    d = np.divide(d, size, out=np.zeros_like(d), where=size > 0.0)     # each place and month weighs by its size again
    weight = size[first] * size[second]
    both = np.array([(year[first] * year[second] * weight).sum() for year in d])
    alone = np.array([(0.5 * (year[first] ** 2 + year[second] ** 2) * weight).sum() for year in d])
    found = both.sum() / alone.sum()
    error = np.sqrt(len(d)) * np.std(both - found * alone, ddof=1) / alone.sum()
    return float(found), float(error)


def common_on_record(departure: Floats, source_year: Ints, distance: Floats, near: float, far: float,
                     months: Sequence[int]) -> tuple[float, float]:
    """Return the common part of months that stations have from the same year, and its standard error.

    The error is that of months drawn again with replacement, each month of a year with all its pairs.

    Parameters
    ----------
    departure : (station, month) array      Share of low weather on record less that of the climate.
    source_year : (station, month) array    Year a month was taken from.
    distance : (station, station) array     [nm]
    near, far : float                       Least and most distance. [nm]
    months : sequence of int                January 0.
    """
    first, second = np.nonzero(np.triu((distance >= near) & (distance < far), 1))
    sums = []
    for month in months:
        year = source_year[first, month]
        same = year == source_year[second, month]
        a, b = departure[first[same], month], departure[second[same], month]
        _, which = np.unique(year[same], return_inverse=True)
        sums.append(np.stack([np.bincount(which, product) for product in (a * b, a * a, b * b)], axis=1))
    every = np.concatenate(sums)
    again = np.random.default_rng(20).integers(0, len(every), (DRAWN_AGAIN, len(every)))
    found = [s[:, 0].sum() / np.sqrt(s[:, 1].sum() * s[:, 2].sum()) for s in (every, *every[again])]
    return float(found[0]), float(np.std(found[1:]))


def lag_correlation(low: Bools, lag_h: int) -> float:
    """Return the mean over places of the correlation of low weather with itself some hours later."""
    d = (low - low.mean(axis=1, keepdims=True)).astype(np.float32)
    some = (d * d).sum(axis=1) > 0
    return float(np.mean((d[some, lag_h:] * d[some, :-lag_h]).sum(axis=1) / (d[some] ** 2).sum(axis=1)))


def pair_correlation(low: Bools, usable: Bools, months: Sequence[int], distance: Floats,
                     ) -> dict[tuple[float, float], float]:
    """Return the correlation of low weather between places by distance, over pairs and months of their own means.

    Parameters
    ----------
    usable : (12, p, p) bool   Which pairs count in which month.
    """
    sums = {edges: np.zeros(2) for edges in PAIR_BINS_NM}
    for month in months:
        part = low[:, _END[month]:_END[month + 1]].astype(np.float32)
        part = part - part.mean(axis=1, keepdims=True)
        size = np.sqrt((part * part).sum(axis=1))
        product = part @ part.T
        for (near, far), total in sums.items():
            i, j = np.nonzero(usable[month] & (distance >= near) & (distance < far) & (size[:, None] * size > 0))
            total += [product[i, j].sum(), (size[i] * size[j]).sum()]
    return {edges: float(a / b) if b else np.nan for edges, (a, b) in sums.items()}


def flyable_days(bad: Bools, usable: Bools, months: Sequence[int], distance: Floats,
                 near: float, far: float) -> tuple[float, float]:
    """Return the share of days both ends are good all through a fixed morning, and for any three hours of the day.

    Parameters
    ----------
    bad : (p, 8760) bool   Below the visual minimum.
    """
    good = ~bad.reshape(len(bad), 365, 24)
    clock = CLOCK_OF_HOUR[:24]
    morning = good[:, :, (clock >= MORNING[0]) & (clock < MORNING[1])].all(axis=2)
    by_day = good[:, :, (clock >= DAY[0]) & (clock <= DAY[1])]
    fixed, free, count = 0.0, 0.0, 0
    for month in months:
        i, j = np.nonzero(usable[month] & (distance >= near) & (distance < far))
        days = slice(_END[month] // 24, _END[month + 1] // 24)
        fixed += (morning[i, days] & morning[j, days]).sum()
        both = by_day[i, days] & by_day[j, days]
        free += (both[:, :, :-2] & both[:, :, 1:-1] & both[:, :, 2:]).any(axis=2).sum()
        count += both.shape[0] * both.shape[1]
    return float(fixed / count), float(free / count)
