"""Print headwinds on legs of 300 nm by region and season: `python -m missionsim.derive.check_headwind [--years N]`.

A leg is centred on a place of the region and flown at every third hour of some simulated years. Held against the open
monthly mean winds at 500 hPa: the mean headwind must be the component of that vector. The spread comes from scatter
of wind vectors recalled from atlases and from the distance over which winds hang together: a band, not a proof.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import packaged_assumptions
from missionsim.derive.surface import RAW
from missionsim.physics.geodesy import destination, points_along
from missionsim.world.surface.station_climate import MONTH_DAYS
from missionsim.world.winds.climatology import LEVEL_GRID_FT, UpperAir
from missionsim.world.winds.simulated import STEP_H, RouteAir, WindYear

PUBLISHED = Path(RAW).parent / "climate" / "winds_mean_vector.csv"
LEG_NM, SHOWN_FT, NEAR_500_HPA_FT, HOURS = 300.0, 8000, 18000, 8760
SEED, YEARS = 9, 6
WEST, NORTH = 270.0, 0.0
PLACES = {"Pacific north-west": ("Seattle", 47.45, -122.31), "California": ("Oakland", 37.72, -122.22),
          "Rockies": ("Denver", 39.86, -104.67), "Plains": ("Omaha", 41.30, -95.89),
          "south Plains": ("Fort Worth", 32.90, -97.04), "Lakes": ("Buffalo", 42.94, -78.73),
          "North-east": ("New York", 40.64, -73.78), "South-east": ("Atlanta", 33.64, -84.43)}
SEASONS = {"Dec-Feb": (11, 0, 1), "Mar-May": (2, 3, 4), "Jun-Aug": (5, 6, 7), "Sep-Nov": (8, 9, 10)}


def legs(course_deg: float) -> RouteAir:
    """Return the air of one leg a place, centred there with that true course; rows in the order of `PLACES`."""
    lat, lon, course = [], [], []
    for _, y, x in PLACES.values():
        start, end = (destination(y, x, turned % 360.0, LEG_NM / 2) for turned in (course_deg + 180.0, course_deg))
        points = points_along(*start, *end, (np.arange(5) + 0.5) / 5)
        for column, found in zip((lat, lon, course), points, strict=True):
            column.append(np.asarray(found))
    assumptions = packaged_assumptions()
    return RouteAir.build(UpperAir.packaged(assumptions), assumptions, np.array(lat), np.array(lon), np.array(course),
                          HOURS)


def headwinds_kt(course_deg: float, years: int = YEARS, level_ft: int = SHOWN_FT) -> Floats:
    """Return mean headwinds along the legs, [place, month, years x steps of a month], NaN where a month is shorter."""
    operator = legs(course_deg)
    time = np.arange(0.0, HOURS, STEP_H)
    month = np.repeat(np.arange(12), np.array(MONTH_DAYS) * round(24 / STEP_H))
    level = LEVEL_GRID_FT.index(level_ft)
    out = np.full((len(PLACES), 12, years, round(31 * 24 / STEP_H)), np.nan)
    for replication in range(years):
        year = WindYear.simulate(operator, SEED, replication)
        for place in range(len(PLACES)):
            head = year.at(np.full(time.size, place), time)[0][:, level]
            for m in range(12):
                out[place, m, replication, :(month == m).sum()] = head[month == m]
    return out.reshape(len(PLACES), 12, -1)


def published_mean_kt(path: Path = PUBLISHED) -> dict[str, tuple[float, float]]:
    """Return the westbound headwind of the open mean wind at 500 hPa, January and July, by place."""
    rows = path.read_text(encoding="utf-8").split("\n\n")[0].splitlines()
    names = rows[0].split(",")
    out = {}
    for row in rows[1:]:
        known = dict(zip(names, row.split(","), strict=True))
        out[known["place"]] = (_westbound(known, "jan"), _westbound(known, "jul"))
    return out


def _westbound(row: dict[str, str], month: str) -> float:
    return float(row[f"{month}_500_kt"]) * float(np.cos(np.radians(float(row[f"{month}_500_from_deg"]) - WEST)))


def season_lines(years: int = YEARS) -> list[str]:
    """Return the distribution of headwinds by region, season and course."""
    by_course = [headwinds_kt(course, years) for course in (WEST, NORTH)]
    lines = [f"headwind on legs of {LEG_NM:.0f} nm at {SHOWN_FT:,} ft, kt, negative helps: mean, standard deviation, "
             "10, 50 and 90 %; the way back has the opposite",
             f"{'':20s}{'':10s}{'westbound':>32s}{'northbound':>34s}"]
    for place, region in enumerate(PLACES):
        for name, months in SEASONS.items():
            cells = []
            for heads in by_course:
                values = heads[place, list(months)]
                values = values[~np.isnan(values)]
                ends = " ".join(f"{v:+4.0f}" for v in np.percentile(values, (10, 50, 90)))
                cells.append(f"{values.mean():+8.1f} {values.std():6.1f}   {ends}")
            lines.append(f"{region:20s}{name:10s}" + "  ".join(f"{cell:>32s}" for cell in cells))
    return lines


def published_lines(years: int = YEARS) -> list[str]:
    """Return mean westbound headwinds near 500 hPa beside the component of the open mean wind."""
    heads = headwinds_kt(WEST, years, NEAR_500_HPA_FT)
    wanted = published_mean_kt()
    lines = [f"westbound mean headwind at {NEAR_500_HPA_FT:,} ft over {years} years beside the open mean wind at "
             "500 hPa at the place, kt: January simulated / open, July simulated / open"]
    for place, (region, (city, _, _)) in enumerate(PLACES.items()):
        ours = np.nanmean(heads[place][[0, 6]], axis=1)
        lines.append(f"{region:20s}{city:12s}" + "   ".join(f"{o:6.1f} / {w:5.1f}" for o, w in
                                                            zip(ours, wanted[city], strict=True)))
    return lines


def main() -> None:
    """Print the distributions, and what they are held against."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=YEARS, help="simulated years")
    years = parser.parse_args().years
    print("\n".join(season_lines(years)))
    if PUBLISHED.is_file():
        print("\n".join(["", *published_lines(years)]))


if __name__ == "__main__":
    main()
