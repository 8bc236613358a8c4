"""Print the share of trips put off at the planned hour, by region, season and pilot, beside owners' experience.

Usage: python -m missionsim.derive.check_put_off [replications | raw]

The experience column is judgement from owners' reports, not measurement; large differences want an explanation. With
`raw` it prints, from the raw station reports, how often any of several stations of the northern plains is too low for
the visual pilot: the least that such a pilot must put off.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from missionsim.base.words import BIT, Reason
from missionsim.decide.leg_weather import leg_weather
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.replicate.one_year import weather_of
from missionsim.world.surface.station_climate import MONTH_DAYS
from missionsim.year.trips import Trip, TripTable

REGIONS = {
    "north-east, Lakes": [("KBUF", "KBOS"), ("KCLE", "KALB"), ("KBDL", "KPIT"), ("KDTW", "KBUF"), ("KROC", "KPWM")],
    "Pacific north-west": [("KSEA", "KGEG"), ("KPDX", "KGEG"), ("KPDX", "KBOI"), ("KBFI", "KEUG"), ("KSEA", "KMFR")],
    "northern plains": [("KOMA", "KMSP"), ("KGRI", "KDEN"), ("KFSD", "KMCI"), ("KBIS", "KMSP"), ("KGRI", "KDSM")],
    "south-east": [("KATL", "KJAX"), ("KCLT", "KATL"), ("KRDU", "KCHS"), ("KTLH", "KMCO"), ("KBNA", "KBHM")],
    "southern plains": [("KDFW", "KSAT"), ("KOKC", "KAMA"), ("KDFW", "KIAH"), ("KTUL", "KLBB"), ("KICT", "KDFW")],
    "mountain west": [("KDEN", "KSLC"), ("KBOI", "KSLC"), ("KDEN", "KGJT"), ("KBIL", "KBOI"), ("KABQ", "KDEN")],
    "desert south-west": [("KPHX", "KLAS"), ("KTUS", "KELP"), ("KPHX", "KABQ"), ("KLAS", "KTUS"), ("KPHX", "KELP")],
    "California coast": [("KSFO", "KLAX"), ("KSAN", "KSJC"), ("KOAK", "KSBA"), ("KSMX", "KSAN"), ("KMRY", "KBUR")],
}
EXPERIENCE = {
    "north-east, Lakes": ("40-55", "18-28", "22-35", "6-12", "10-18"),
    "Pacific north-west": ("45-60", "12-20", "30-45", "4-8", "12-22"),
    "northern plains": ("30-45", "15-25", "18-30", "7-12", "10-16"),
    "south-east": ("22-32", "20-30", "6-10", "8-15", "5-9"),
    "southern plains": ("20-30", "10-18", "7-12", "5-10", "5-9"),
    "mountain west": ("25-40", "12-20", "18-30", "8-14", "12-20"),
    "desert south-west": ("6-12", "8-15", "3-7", "6-10", "3-6"),
    "California coast": ("15-25", "15-25", "4-8", "2-4", "4-7"),
}
PILOTS = ("visual", "instrument", "ice and turbo")
SHOWN = (("visual", "winter"), ("visual", "summer"), ("instrument", "winter"), ("instrument", "summer"),
         ("ice and turbo", "winter"))
WEATHER = tuple(r for r in Reason if r in {Reason.CEILING, Reason.VISIBILITY, Reason.ICING, Reason.THUNDERSTORM,
                                            Reason.WIND, Reason.TURBULENCE})
LEAVE_LOCAL = (8, 10, 13, 15)


def table_of(pairs: list[tuple[str, str]]) -> tuple[TripTable, list[str]]:
    """Return trips over pairs of places through winter and summer, and the season of each."""
    trips, seasons = [], []
    days = [(date(2025, 1, 3) + timedelta(days=3 * i), "winter") for i in range(19)]
    days += [(date(2025, 6, 3) + timedelta(days=3 * i), "summer") for i in range(29)]
    days += [(date(2025, 12, 2) + timedelta(days=3 * i), "winter") for i in range(9)]
    for i, (day, season) in enumerate(days):
        a, b = pairs[i % len(pairs)]
        leave = datetime.combine(day, time(LEAVE_LOCAL[(i // len(pairs)) % len(LEAVE_LOCAL)]))
        trips.append(Trip(f"{i}", (a, b, a), (leave, leave + timedelta(days=1)), 2, 0, 40.0))
        seasons.append(season)
    return TripTable(tuple(trips), "KGRI", 2025), seasons


def study_for(base: Study, kind: str) -> Study:
    """Return the demo's study with the pilot and the one aircraft of a column."""
    rating = "visual" if kind == "visual" else "instrument"
    pilot = base.pilot.model_copy(update={"rating": rating})
    wanted = "Boosted" if kind == "ice and turbo" else "260 hp"
    candidate = next(c for c in base.candidates if c.name.startswith(wanted))
    panel = {"panel.approach": "lpv", "panel.autopilot": "two_axis"}
    if kind == "ice and turbo":
        panel |= {"panel.ice_protection": "approved", "panel.weather_on_board": True}
    return replace(base, pilot=pilot, candidates=(replace(candidate, profile=candidate.profile.changed(panel)),))


def planned_bits(ready: Prepared, replication: int) -> np.ndarray:
    """Return the weather bits of every trip's first leg at the planned hour."""
    day = weather_of(ready, replication)
    flyer = ready.flyers[0]
    cells, lane = flyer.plan.cells, flyer.plan.rows.lane
    air = cells.air(day.air[flyer.plan.lane_set], lane)
    weather = leg_weather(flyer.plan, ready.sky.gates[0], ready.sky.fields[0], ready.schedule, day.sky,
                          day.enroute, air)
    first = ready.schedule.first_leg[:-1]
    bits = weather.reasons[first, ready.schedule.planned_slot[first]].copy()
    if weather.blocked_levels is not None:
        rows = flyer.plan.options.first_row[flyer.plan.options.of_leg[first, 0]]
        slot = ready.schedule.planned_slot[first] // 3
        limits = flyer.plan.level_limits
        usable = (limits.clears_terrain & limits.oxygen & flyer.plan.table.usable)[rows]
        shut = (cells.spread(weather.blocked_levels, len(lane))[rows, slot] | ~usable).all(axis=1) & usable.any(axis=1)
        bits |= np.where(shut, np.uint32(BIT[Reason.ICING]), np.uint32(0))
    return bits


def raw_any_low(folder: Path, months: tuple[int, ...], count: int) -> float:
    """Return the share of daytime hours in which any of some stations within 330 nm is under 1,500 ft or 4 sm.

    Stations are compared only in months taken from the same year.
    """
    arrays = np.load(folder / "tmy3_hourly.npz")
    stations = pd.read_csv(folder / "tmy3_stations.csv")
    lat, lon = stations["lat"].to_numpy(), stations["lon"].to_numpy()
    ceiling_ft = np.where(arrays["ceiling_100ft"] == 255, 1e5, arrays["ceiling_100ft"] * 100.0)
    low = (ceiling_ft < 1500.0) | (arrays["visibility_0p1sm"] < 40)
    month = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
    daytime = (np.arange(8760) % 24 >= 7) & (np.arange(8760) % 24 <= 17)
    inside = np.flatnonzero((lat > 40) & (lat < 46) & (lon > -101) & (lon < -92))
    random, hits, hours = np.random.default_rng(1), 0, 0
    for m in months:
        years, now = arrays["source_year_by_month"][inside, m], (month == m) & daytime
        for same in (inside[years == y] for y in np.unique(years) if (years == y).sum() >= count):
            for _ in range(40):
                chosen = random.choice(same, count, replace=False)
                apart = haversine_nm(lat[chosen][:, None], lon[chosen][:, None], lat[chosen], lon[chosen]).max()
                if apart < 330.0:
                    hits, hours = hits + int(low[chosen][:, now].any(axis=0).sum()), hours + int(now.sum())
    return hits / max(hours, 1)


def print_raw() -> None:
    """Print how often any of several stations is too low, winter and summer."""
    folder = Path(__file__).resolve().parents[3] / "shared" / "weather"
    for count in (1, 2, 4, 6):
        shares = (raw_any_low(folder, months, count) for months in ((11, 0, 1), (5, 6, 7)))
        print(f"any of {count} within 330 nm under 1,500 ft or 4 sm by day: winter {next(shares):.0%}, "
              f"summer {next(shares):.0%}")


def main() -> None:
    """Print the table, and what stopped whom."""
    if sys.argv[1:] == ["raw"]:
        print_raw()
        return
    replications = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    base = load_study()
    print("region".ljust(20), *(f"{p} {s}".rjust(22) for p, s in SHOWN))
    for region, pairs in REGIONS.items():
        trips, seasons = table_of(pairs)
        season = np.array(seasons)
        shares, why = {}, []
        for kind in PILOTS:
            ready = prepare(study_for(base, kind), trips)
            bits = np.stack([planned_bits(ready, r) for r in range(replications)])
            for s in ("winter", "summer"):
                there = bits[:, season == s]
                shares[kind, s] = (there != 0).mean()
                parts = ", ".join(f"{r} {((there & BIT[r]) != 0).mean():.0%}" for r in WEATHER
                                  if ((there & BIT[r]) != 0).mean() > 0.005)
                why.append(f"    {kind} {s}: {parts}")
        print(region.ljust(20), *(f"{shares[key]:.0%} ({said})".rjust(22)
                                  for key, said in zip(SHOWN, EXPERIENCE[region], strict=True)), flush=True)
        print("\n".join(why), flush=True)


if __name__ == "__main__":
    main()
