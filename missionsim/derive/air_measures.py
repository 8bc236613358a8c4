"""Measures of simulated surface air: the day's extremes, changes from day to day, freezing cloud low down, thunder."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.derive.surface_measures import local_year
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.station_climate import MONTH_OF_HOUR
from missionsim.world.surface.station_table import StationTable
from missionsim.world.surface.year import SurfaceYear

_DAY_MONTH = MONTH_OF_HOUR[::24]
LOW_CLOUD_FT, COLDER_AT_5000_FT_C = 5000.0, 8.0


@dataclass(frozen=True)
class DayMeasures:
    """Of one month by place, [p]: mean daily mean, maximum, minimum, deviation from day to day, lag of one day. [°C]"""

    mean: Floats
    high: Floats
    low: Floats
    deviation: Floats
    lag_day: Floats


def days_of(climate: SurfaceClimate, seed: int, replications: int, month: int) -> DayMeasures:
    """Return the measures of a month over some simulated years.

    Parameters
    ----------
    climate : SurfaceClimate
    seed : int           Of the study.
    replications : int   How many.
    month : int          January 0.
    """
    lots = []
    for replication in range(replications):
        air = SurfaceYear.simulate(climate, seed, replication).whole_years()
        days = local_year(climate, air.temperature_c).reshape(len(climate.names), 365, 24)
        lots.append(days[:, month == _DAY_MONTH].astype(float))
    days = np.stack(lots, axis=1)                   # place, year, day, hour
    mean = days.mean(axis=3)
    d = mean - mean.mean(axis=2, keepdims=True)
    lag = (d[:, :, 1:] * d[:, :, :-1]).sum(axis=(1, 2)) / (d * d).sum(axis=(1, 2))
    return DayMeasures(mean.mean(axis=(1, 2)), days.max(axis=3).mean(axis=(1, 2)), days.min(axis=3).mean(axis=(1, 2)),
                       np.sqrt((d * d).mean(axis=(1, 2))), lag)


def low_icing(climate: SurfaceClimate, seed: int, replications: int) -> Floats:
    """Return the share of hours by month with a ceiling up to 5,000 ft and air at 0 to -15 °C 5,000 ft above, [p, 12].

    The air there is taken 8 °C colder than at the surface. It bounds low icing from above: half of such cloud ices.
    """
    place, hour = np.meshgrid(np.arange(len(climate.names)), np.arange(HOURS), indexing="ij")
    total = np.zeros((len(climate.names), 12))
    for replication in range(replications):
        year = SurfaceYear.simulate(climate, seed, replication)
        aloft = year.whole_years().temperature_c - COLDER_AT_5000_FT_C
        freezing = (aloft <= 0.0) & (aloft >= -15.0) & (year.ceiling_ft(place, hour) <= LOW_CLOUD_FT)
        hours = local_year(climate, freezing)
        total += np.stack([hours[:, m == MONTH_OF_HOUR].mean(axis=1) for m in range(12)], axis=1) / replications
    return total


def stations_of(cities: list[tuple[str, str]]) -> list[int | None]:
    """Return the packaged station of each (city, state), None where no station carries its name."""
    packaged = StationTable.packaged()
    names = [name.decode() for name in packaged.name.tolist()]
    states = [state.decode() for state in packaged.state.tolist()]

    def plain(text: str) -> str:
        return text.upper().replace(".", "").replace("-", " ").replace("/", " ").split(" (")[0]

    out: list[int | None] = []
    for city, state in cities:
        rows = [k for k, (n, s) in enumerate(zip(names, states, strict=True)) if s == state and plain(city) in plain(n)]
        best = [k for k in rows if "INT" in names[k].upper()] or rows
        out.append(best[0] if best else None)
    return out


def rows_of(path: Path) -> list[dict[str, str]]:
    """Return the rows of one of the small tables of published figures."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
