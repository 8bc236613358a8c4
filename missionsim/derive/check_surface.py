"""Print what simulated weather measures against table and reports: `python -m missionsim.derive.check_surface`."""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.derive import surface_measures as measure
from missionsim.derive.surface import RAW
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.flight_category import CATEGORIES
from missionsim.world.surface.station_table import StationTable

SEED = 9
BRIER_WANTED = {3: 0.45, 6: 0.35, 12: 0.26, 24: 0.19, 48: 0.11}
THUNDER_DAYS = {"CHICAGO MIDWAY": 38, "FORT MYERS PAGE": 89, "TAMPA INTERNATIONAL": 87, "ORLANDO INTL": 80,
                "MOBILE REGIONAL": 79, "KEY WEST INTL": 64}
"""Thunderstorm days a year: National Weather Service and National Climatic Data Center averages as quoted in lists."""


def forty(stations: measure.Stations) -> np.ndarray:
    """Return rows of forty stations of the contiguous states, drawn once and for all."""
    return np.sort(np.random.default_rng(11).choice(stations.row.size, 40, replace=False))


def plains_route(assumptions: Assumptions, points: int = 12) -> SurfaceClimate:
    """Return the climate of points every 25 nm eastward from Grand Island, Nebraska."""
    lon = -98.3 + np.arange(points) * 25.0 / 60.0 / np.cos(np.radians(41.0))
    return SurfaceClimate.build(np.full(points, 41.0), lon, np.full(points, 1500.0),
                                [f"{25 * k} nm" for k in range(points)], assumptions)


def correlations(stations: measure.Stations, assumptions: Assumptions, replications: int = 6) -> str:
    """Return the table of correlations of low weather, raw and simulated."""
    climate = measure.climate_at(stations.row, assumptions)
    years = [kind >= 2 for kind in measure.simulated_categories(climate, SEED, range(replications))]
    lines = ["correlation of ceiling < 1,000 ft or visibility < 3 sm      raw  simulated"]
    raw, drawn = measure.time_correlation(stations.low), [measure.time_correlation(y) for y in years]
    lines += [f"  {lag:3d} h apart {'':38s} {raw[lag]:9.3f} {np.mean([d[lag] for d in drawn]):9.3f}" for lag in raw]
    raw_s, drawn_s = measure.space_correlation(stations.low, stations), [measure.space_correlation(y, stations)
                                                                        for y in years]
    lines += [f"  {near:3.0f} to {far:3.0f} nm apart {'':29s} {raw_s[near, far]:9.3f} "
              f"{np.mean([d[near, far] for d in drawn_s]):9.3f}" for near, far in raw_s]
    sets = measure.union_sets(stations)
    union = np.mean([measure.union_share(y, sets) for y in years], axis=0)
    lines.append("any of six stations within 150 nm low, and one of them: "
                 f"raw {measure.union_share(stations.low, sets)}, simulated {tuple(union.round(4).tolist())}")
    return "\n".join(lines)


def marginals(stations: measure.Stations, assumptions: Assumptions, replications: int = 200) -> str:
    """Return the table of yearly category shares at forty stations, in percent."""
    pick = forty(stations)
    climate = measure.climate_at(stations.row[pick], assumptions)
    drawn = list(measure.simulated_categories(climate, SEED, range(replications)))
    year = 100 * np.mean([measure.category_shares(k) for k in drawn], axis=0)
    month = 100 * np.mean([measure.monthly_low(k) for k in drawn], axis=0)
    expected = 100 * measure.table_shares(climate)
    gap = np.abs(month - 100 * climate.categories()[:, :, 2:].sum(axis=2))
    lines = [f"yearly shares at forty stations, {replications} replications, percent: table / simulated"]
    for k, name in enumerate(climate.names):
        shares = "  ".join(f"{c} {expected[k, j]:5.1f}/{year[k, j]:5.1f}" for j, c in enumerate(CATEGORIES))
        lines.append(f"  {name[:34]:34s} {shares}  month off by at most {gap[k].max():.2f}")
    lines.append(f"largest difference: year {np.abs(year - expected).max():.2f}, month {gap.max():.2f} points")
    return "\n".join(lines)


def skill(stations: measure.Stations, assumptions: Assumptions, replications: int = 60) -> str:
    """Return the table of forecast skill and calibration."""
    climate = measure.climate_at(stations.row[forty(stations)], assumptions)
    lines = ["forecasts of IFR or worse: lead, Brier skill (wanted), hit rate, false-alarm ratio; per 100 looks false "
             "go and false stop;\n  said/seen percent in bins 0-5, 5-10, 10-15, 15-20 with distance in standard errors"]
    for look in measure.looks(climate, SEED, replications):
        hit, false = look.hit_and_false_alarm()
        bins = []
        for low in (0.0, 0.05, 0.10, 0.15):
            said, seen, error = look.bin(low, low + 0.05)
            bins.append(f"{100 * said:.2f}/{100 * seen:.2f} ({(seen - said) / error:+.1f})")
        base = float(look.seen.mean())
        lines.append(f"  {look.lead_h:3d} h  {look.brier_skill:.3f} ({BRIER_WANTED[look.lead_h]:.2f})  {hit:.2f}  "
                     f"{false:.2f}  {100 * base * (1 - hit):.1f} {100 * base * (1 - hit):.1f}  {'  '.join(bins)}")
    return "\n".join(lines)


def storms(assumptions: Assumptions) -> str:
    """Return thunderstorm days of cities, and the skill of next-day storm warnings."""
    packaged = StationTable.packaged()
    rows = {city: next(k for k, n in enumerate(packaged.name.tolist()) if n.decode().startswith(city))
            for city in THUNDER_DAYS}
    days = measure.thunder_days(measure.climate_at(np.array(list(rows.values())), assumptions), SEED, 20)
    lines = ["thunderstorm days a year: published / simulated"]
    lines += [f"  {city.title():22s} {THUNDER_DAYS[city]:3d} {d:5.1f}" for city, d in zip(rows, days, strict=True)]
    hit, false, base = measure.storm_day_skill(plains_route(assumptions), SEED, 20)
    lines.append(f"storms over a fifth of the area near a 275 nm route on a summer afternoon, said a day ahead: "
                 f"hit rate {hit:.2f} (0.75), false-alarm ratio {false:.2f} (0.45), on {100 * base:.0f} % of days")
    return "\n".join(lines)


def main() -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--raw", type=Path, default=RAW, help="folder of the raw weather data")
    arguments = parser.parse_args()
    assumptions = packaged_assumptions()
    stations = measure.raw_stations(arguments.raw)
    for text in (correlations(stations, assumptions), marginals(stations, assumptions),
                 skill(stations, assumptions), storms(assumptions)):
        print(text, end="\n\n")


if __name__ == "__main__":
    main()
