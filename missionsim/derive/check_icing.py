"""Print icing by region and month: `python -m missionsim.derive.check_icing [--years N]`.

First the share of hours with a low ceiling and freezing air above it, beside the same share of the open reports: a
*proxy*, an upper bound on icing low down, since about half of such cloud ices. Then how often cloud ices anywhere
over a place, beside figures recalled from published maps of soundings (15 points either way). Nobody has measured
icing here.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Floats, Ints
from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.normal import normal_quantile
from missionsim.derive.air_measures import low_icing
from missionsim.derive.coast import shore_distance_nm
from missionsim.derive.surface import RAW
from missionsim.derive.surface_measures import climate_at
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.cloud import thickness_ft
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.station_climate import BLOCKS, MONTHS, PAIR_SHARE
from missionsim.world.surface.station_table import StationTable
from missionsim.world.winds.climatology import UpperAir

PROXY = Path(RAW).parent / "climate" / "icing_proxy.csv"
SEED, YEARS, STATIONS = 9, 3, 8
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
RECALLED_JANUARY = {"Pacific NW west of Cascades": (50, 60), "Great Lakes": (45, 55), "New England/NY": (40, 45),
                    "Ohio Valley": (35, 40), "N Plains": (30, 30), "N Rockies/High Plains": (30, 35),
                    "Mid-Atlantic": (25, 30), "Southeast inland": (15, 20), "Desert Southwest": (10, 15)}
"""Percent of January soundings with icing likely somewhere above, from memory of published maps."""


def places() -> dict[str, Ints]:
    """Return packaged stations of each region of the proxy's table, evenly over the list of its stations."""
    packaged = StationTable.packaged()
    state, lat, lon = np.char.decode(packaged.state), packaged.latitude_deg, packaged.longitude_deg
    shore = shore_distance_nm(lat, lon)
    inside = {
        "Pacific NW west of Cascades": np.isin(state, ["WA", "OR"]) & (lon < -121.9),
        "Intermountain": np.isin(state, ["UT", "ID"]) | (state == "NV") & (lat > 38.0),
        "N Rockies/High Plains": np.isin(state, ["MT", "WY"]) | (state == "CO") & (lon < -102.5),
        "N Plains": np.isin(state, ["ND", "SD", "MN"]),
        "Central Plains": np.isin(state, ["NE", "KS", "IA", "MO"]),
        "Great Lakes": np.isin(state, ["MI", "WI"]) | np.isin(state, ["OH", "NY", "PA"]) & (lat > 41.3) & (lon < -76.0),
        "Ohio Valley": np.isin(state, ["KY", "IN"]) | (state == "OH") & (lat < 41.0),
        "New England/NY": np.isin(state, ["ME", "NH", "VT", "MA", "RI", "CT"]) | (state == "NY") & (lon > -76.0),
        "Mid-Atlantic": np.isin(state, ["NJ", "DE", "MD"]) | (state == "VA") & (lon > -79.0),
        "Southeast inland": np.isin(state, ["GA", "AL", "MS", "SC", "NC"]) & (shore > 50.0),
        "Texas/Oklahoma": np.isin(state, ["TX", "OK"]) & (shore > 50.0),
        "California": state == "CA",
        "Desert Southwest": (state == "AZ") & (packaged.elevation_ft < 4500) | (state == "NV") & (lat < 37.5),
    }
    rows = {name: np.flatnonzero(part) for name, part in inside.items()}
    return {name: r[np.linspace(0, r.size - 1, min(STATIONS, r.size)).astype(int)] for name, r in rows.items()}


def published(path: Path = PROXY) -> dict[str, Floats]:
    """Return the proxy of the open reports by region, January to December. [%]"""
    with path.open(encoding="utf-8", newline="") as file:
        return {row[0]: np.array(row[1:13], dtype=float) for row in list(csv.reader(file))[1:]}


def column_share(climate: SurfaceClimate) -> Floats:
    """Return the share of hours in which cloud over a place ices at some height, [p, 12].

    The one layer ices by its chance where it reaches air between freezing and the coldest that ices; the temperature
    aloft departs from its mean alike at all heights.
    """
    a, middles = climate.assumptions, (np.arange(9) + 0.5) / 9
    level = np.arange(0.0, 24001.0, 500.0)
    upper, p = UpperAir.packaged(a), np.arange(len(climate.names))[:, None]
    months = np.arange(MONTHS)[None]
    base = climate.ceiling_ft + climate.elevation_ft[:, None, None, None]
    out = np.zeros((len(climate.names), MONTHS))
    for place in p.ravel().tolist():
        air = [upper.climatology(climate.latitude_deg[place], climate.longitude_deg[place], m + 1, level)
               for m in range(MONTHS)]
        for shift in np.asarray(normal_quantile(middles)).tolist():
            warm = [m.temperature_c + shift * m.temperature_scatter_c for m in air]
            lowest, highest = (np.array([_height(level, t, at) for t in warm])
                               for at in (0.0, a["weather.icing_coldest_c"]))
            for middle in middles.tolist():
                thick = thickness_ft(climate, p[place], months[0], middle)[:, None, None]
                cold = ((base[place] < highest[:, None, None]) & (base[place] + thick > lowest[:, None, None])
                        & (climate.ceiling_ft[place] < UNLIMITED_FT))
                out[place] += (cold * PAIR_SHARE).sum(axis=(1, 2)) / BLOCKS / middles.size**2
    return a["weather.icing_share"] * out


def _height(level: Floats, temperature: Floats, at: float) -> float:
    """Return the highest level that is as warm; the ground of the levels where none is."""
    warm = np.flatnonzero(temperature >= at)
    return float(level[warm[-1]]) if warm.size else float(level[0])


def lines(years: int = YEARS) -> list[str]:
    """Return both tables."""
    wanted, assumptions = published(), packaged_assumptions()
    climates = {name: climate_at(rows, assumptions) for name, rows in places().items()}
    out = ["ceiling up to 5,000 ft and 0 to -15 C there, percent of hours: open reports, then simulated. A proxy: no "
           "report of icing stands behind it, about half of such cloud ices", f"{'':29s}" + "  ".join(MONTH_NAMES)]
    for name, climate in climates.items():
        ours = 100.0 * low_icing(climate, SEED, years).mean(axis=0)
        out += [f"{name:28s}" + "".join(f"{v:5.0f}" for v in wanted[name]),
                f"{'':28s}" + "".join(f"{v:5.0f}" for v in ours)]
    chance = assumptions["weather.icing_share"]
    out += ["", f"cloud that ices somewhere over the place, percent of hours, simulated: {chance:.0%} of cloud "
            "in freezing air; then January's share of such cloud, beside icing likely on recalled maps (+-15)",
            f"{'':29s}" + "  ".join(MONTH_NAMES)]
    for name, climate in climates.items():
        ours = 100.0 * column_share(climate).mean(axis=0)
        low, high = RECALLED_JANUARY.get(name, (None, None))
        told = "" if low is None else f"   {ours[0] / chance:.0f} beside {low} to {high}"
        out.append(f"{name:28s}" + "".join(f"{v:5.0f}" for v in ours) + told)
    return out


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=YEARS, help="simulated years")
    years = parser.parse_args().years
    if not PROXY.is_file():
        parser.error(f"the table of open reports is not here: {PROXY}")
    print("\n".join(lines(years)))


if __name__ == "__main__":
    main()
