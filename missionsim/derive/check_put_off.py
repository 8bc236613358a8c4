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
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.compare.put_off import EXPERIENCE, ROWS, outbound
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.prepare.study import prepare
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
PILOTS = ("visual", "instrument", "ice and turbo")
SHOWN = (("visual", "winter"), ("visual", "summer"), ("instrument", "winter"), ("instrument", "summer"),
         ("ice and turbo", "winter"))
WEATHER = tuple(r for r in Reason if r in {Reason.CEILING, Reason.VISIBILITY, Reason.ICING, Reason.THUNDERSTORM,
                                            Reason.WIND, Reason.TURBULENCE})
LEAVE_LOCAL = (8, 10, 13, 15)
EARLIER_H, LATER_H, DAY_H = 3, 6, 24
"""The hours of a trip, from the planned one, and a day. [h]"""


def table_of(pairs: list[tuple[str, str]]) -> tuple[TripTable, list[str]]:
    """Return trips over pairs of places through winter and summer, and the season of each."""
    trips, seasons = [], []
    days = [(date(2025, 1, 3) + timedelta(days=3 * i), "winter") for i in range(19)]
    days += [(date(2025, 6, 3) + timedelta(days=3 * i), "summer") for i in range(29)]
    days += [(date(2025, 12, 2) + timedelta(days=3 * i), "winter") for i in range(9)]
    for i, (day, season) in enumerate(days):
        a, b = pairs[i % len(pairs)]
        leave = datetime.combine(day, time(LEAVE_LOCAL[(i // len(pairs)) % len(LEAVE_LOCAL)]))
        trips.append(Trip(f"{i}", (a, b, a), (leave, leave + timedelta(days=2)), 2, 0, 40.0, earlier_h=EARLIER_H,
                          later_h=DAY_H))
        seasons.append(season)
    return TripTable(tuple(trips), "KGRI", 2025), seasons


def study_for(base: Study, kind: str) -> Study:
    """Return the demo's study with the pilot and the one aircraft of a column: boosted, or the quickest that is not."""
    rating = "visual" if kind == "visual" else "instrument"
    pilot = base.pilot.model_copy(update={"rating": rating, "night": False})
    boosted = kind == "ice and turbo"
    candidate = next(c for c in base.candidates if (c.profile.engine.aspiration != "normal") == boosted)
    panel = {"panel.approach": "lpv", "panel.autopilot": "two_axis"}
    if boosted:
        panel |= {"panel.ice_protection": "approved", "panel.weather_on_board": True}
    return replace(base, pilot=pilot, candidates=(replace(candidate, profile=candidate.profile.changed(panel)),))


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


def open_shares(made: np.ndarray) -> np.ndarray:
    """Return the share of trips, [row of `ROWS`], that cannot leave, from whether each hour does, [n, slot]."""
    spans = (slice(EARLIER_H, EARLIER_H + 1), slice(0, EARLIER_H + LATER_H + 1), slice(0, EARLIER_H + DAY_H + 1))
    return np.array([1.0 - made[:, span].any(axis=1).mean() for span in spans])


def main() -> None:
    """Print three rows a region: no hour to go at plan, within the trip's hours, within a day; and why."""
    if sys.argv[1:] == ["raw"]:
        print_raw()
        return
    replications = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    base = load_study()
    print("Trips that cannot leave, of weather alone; in brackets what owners tell; either end alone, a floor at equal "
          "minima.\nRaw reports of two ends at 1,000 ft and 3 sm in a fixed morning window: too low on 36 % of winter, "
          "21 % of summer days;\nat 3,000 ft and 5 sm open in some three hours on 76 % of days.\n")
    print("region".ljust(34), *(f"{p} {s}".rjust(22) for p, s in SHOWN))
    for region, pairs in REGIONS.items():
        trips, seasons = table_of(pairs)
        season = np.tile(np.array(seasons), replications)
        shares, why = {}, []
        for kind in PILOTS:
            ready = prepare(study_for(base, kind), trips)
            years = [outbound(ready.entrants[0], weather_of(ready, r)) for r in range(replications)]
            bits, turns, met, ends = (np.concatenate([getattr(year, name) for year in years])
                                      for name in ("bits", "turns", "met", "ends"))
            for s in ("winter", "summer"):
                here = season == s
                shares[kind, s] = np.append(open_shares((bits[here] == 0) & ~turns[here]), ends[here].mean())
                planned = bits[here, EARLIER_H]
                parts = [f"{r} {((planned & BIT[r]) != 0).mean():.0%}" for r in WEATHER
                         if ((planned & BIT[r]) != 0).mean() > 0.005]
                if kind == "visual":
                    flown = bits[here] == 0
                    parts += [f"of flights begun turned back or landed short {turns[here][flown].mean():.1%}",
                              f"met less than the legal minima {1000 * met[here][flown].mean():.1f} in 1,000"]
                why.append(f"    {kind} {s}, planned hour: {', '.join(parts)}")
        for k, name in enumerate((*ROWS, "ends alone")):
            said = EXPERIENCE[region] if k == 0 else ("",) * len(SHOWN)
            print((region if k == 0 else "").ljust(20), name.ljust(13),
                  *(f"{shares[key][k]:.0%}{f' ({told})' if told else ''}".rjust(22)
                    for key, told in zip(SHOWN, said, strict=True)), flush=True)
        print("\n".join(why), flush=True)


if __name__ == "__main__":
    main()
