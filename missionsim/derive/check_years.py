"""Print how simulated years differ and hang together beside the record: `python -m missionsim.derive.check_years`.

Good and bad months: how much they differ between years at one place, and what places have of them in common. Low
weather from hour to hour and from place to place, by season. Days on which two places can both be flown.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Bools, Floats
from missionsim.base.assumptions import packaged_assumptions
from missionsim.derive import surface_measures as measure
from missionsim.derive import year_measures as years
from missionsim.derive.check_climate import table_low
from missionsim.derive.surface import RAW
from missionsim.world.data import table
from missionsim.world.surface.place_climate import distance_nm
from missionsim.world.surface.station_table import TABLE, StationTable

SEED, LOOKED_AT = 9, 6
"""Of how many years every hour is looked at; months are looked at in all."""


def distances(stations: measure.Stations) -> Floats:
    """Return the distances of stations from each other. [nm]"""
    arrays = table(TABLE)
    lat, lon = arrays["latitude_deg"][stations.row], arrays["longitude_deg"][stations.row]
    return distance_nm(lat, lon, lat, lon)


def same_year_and_time(stations: measure.Stations) -> Bools:
    """Return pairs on one standard time whose month is on record from one year, [12, p, p]."""
    offset = table(TABLE)["utc_offset_h"][stations.row]
    pairs = np.triu(offset[:, None] == offset[None], 1)
    return np.stack([pairs & (stations.source_year[:, m][:, None] == stations.source_year[:, m]) for m in range(12)])


def departures(stations: measure.Stations) -> Floats:
    """Return what months on record have over the packaged climate, share of low weather, [p, 12]."""
    return years.month_shares(stations.low) - table_low(StationTable.packaged())[stations.row].mean(axis=2)


def common_lines(shares: Floats, stations: measure.Stations, distance: Floats) -> list[str]:
    """Return the table of what months of one year have in common."""
    departure = departures(stations)
    lines = ["good and bad months, correlation between places (standard error): on record, simulated"]
    for name, months in (("Nov-Mar", years.WINTER), ("May-Sep", years.SUMMER)):
        for near, far in years.COMMON_BINS_NM:
            raw, raw_error = years.common_on_record(departure, stations.source_year, distance, near, far, months)
            ours, error = years.common_part(shares, distance, near, far, months)
            lines.append(f"  {name} {near:3.0f} to {far:3.0f} nm  {raw:.2f} ({raw_error:.2f})  "
                         f"{ours:.3f} ({error:.3f})")
    return lines


def spread_lines(shares: Floats) -> list[str]:
    """Return how much a month's share of low weather differs between simulated years, by half of the year."""
    lines = ["deviation of a month's share of low weather between years, points (standard error)"]
    for name, months in (("Nov-Mar", years.WINTER), ("May-Sep", years.SUMMER)):
        left = [years.between_years(np.delete(shares, k, axis=0), months) for k in range(len(shares))]
        error = np.sqrt((len(shares) - 1) * np.var(left))
        lines.append(f"  {name}  {100 * years.between_years(shares, months):.2f} ({100 * error:.2f})")
    return lines


def hour_lines(kinds: list[np.ndarray], stations: measure.Stations, distance: Floats) -> list[str]:
    """Return correlations by lag and distance and flyable days, on record and simulated, `kinds` by year."""
    usable, lots = same_year_and_time(stations), [stations.category, *kinds]
    lines = ["correlation of low weather by lag: on record, simulated"]
    for lag in (1, 6, 24):
        raw, *ours = (years.lag_correlation(kind >= 2, lag) for kind in lots)
        lines.append(f"  {lag:2d} h  {raw:.3f}  {np.mean(ours):.3f}")
    lines.append("correlation of low weather by distance: on record, simulated")
    for name, months in years.SEASONS.items():
        raw_by, *ours_by = (years.pair_correlation(kind >= 2, usable, months, distance) for kind in lots)
        lines += [f"  {name:7s} {edges[0]:3.0f} to {edges[1]:3.0f} nm  {raw_by[edges]:.3f}  "
                  f"{np.mean([found[edges] for found in ours_by]):.3f}" for edges in years.PAIR_BINS_NM]
    lines.append("days two places 150 to 250 nm apart can both be flown, fixed morning and any three hours: on record, "
                 "simulated")
    for what, least in (("1,000 ft and 3 sm", 2), ("3,000 ft and 5 sm", 1)):
        for name, months in years.SEASONS.items():
            days = [years.flyable_days(kind >= least, usable, months, distance, 150.0, 250.0) for kind in lots]
            lines.append(f"  {what} {name:7s}  " + "  ".join(f"{fixed:.3f} {free:.3f}" for fixed, free in
                                                             (days[0], np.mean(days[1:], axis=0))))
    return lines


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--raw", type=Path, default=RAW, help="folder of the raw weather data")
    parser.add_argument("--years", type=int, default=40, help="simulated years, 3 or more")
    arguments = parser.parse_args()
    stations = measure.raw_stations(arguments.raw)
    climate = measure.climate_at(stations.row, packaged_assumptions())
    kinds, shares = [], []
    for kind in measure.simulated_categories(climate, SEED, range(arguments.years)):
        shares.append(years.month_shares(kind >= 2))
        if len(kinds) < LOOKED_AT:
            kinds.append(kind)
    distance, of_months = distances(stations), np.stack(shares)
    print("\n".join([*spread_lines(of_months), *common_lines(of_months, stations, distance),
                     *hour_lines(kinds, stations, distance)]))


if __name__ == "__main__":
    main()
