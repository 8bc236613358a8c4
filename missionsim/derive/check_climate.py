"""Print how well the estimated climate meets records it does not know: `python -m missionsim.derive.check_climate`.

A place is estimated from all stations but those within 15 nm of it, itself excepted; then held against other source
years of the same place: other stations within 15 nm and the older archive, month by month where the years differ.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.derive.climate_estimate import month_weights
from missionsim.derive.surface import RAW, Archives, low_by_month
from missionsim.world.surface.flight_category import (
    CEILING_NONE,
    category,
    ceiling_from_code,
    visibility_from_code,
)
from missionsim.world.surface.place_climate import neighbours
from missionsim.world.surface.station_climate import MONTH_DAYS, MONTHS, PAIR_SHARE
from missionsim.world.surface.station_table import StationTable

NEAR_NM, NEAR_FT, BOX_DEG = 15.0, 300.0, 2.0
MONTH_SHARE = np.array(MONTH_DAYS) / 365.0
OUTSIDE = {"AK", "HI", "PR", "GU", "VI"}


@dataclass(frozen=True)
class Pairs:
    """Places and other records of them, rows of the archives; `choosing`: in the half the constants were chosen on."""

    place: Ints
    record: Ints
    choosing: Bools


def independent_pairs(archives: Archives, contiguous: Bools) -> Pairs:
    """Return stations of the packaged archive with every record within 15 nm and 300 ft of them."""
    r = archives.records
    main, every = np.flatnonzero((r.archive == 0) & contiguous), np.flatnonzero(contiguous)
    near = r.apart_nm(main, every)[0] < NEAR_NM
    near &= np.abs(r.elevation_ft[main][:, None] - r.elevation_ft[every]) < NEAR_FT
    near &= main[:, None] != every
    i, j = np.nonzero(near)
    return Pairs(main[i], every[j], choosing(archives)[main[i]])


def choosing(archives: Archives) -> Bools:
    """Return the stations that the constants of the estimate were chosen on: half of the boxes of two degrees."""
    r = archives.records
    box = (np.floor(r.latitude_deg / BOX_DEG) * 1000 + np.floor(r.longitude_deg / BOX_DEG)).astype(np.int64)
    names, index = np.unique(box, return_inverse=True)
    return np.asarray((np.random.default_rng(1).random(names.size) < 0.5)[index])


def estimates(archives: Archives, places: Ints) -> dict[int, Floats]:
    """Return the estimated monthly shares of places, all other stations within 15 nm unknown."""
    r, out = archives.records, {}
    share = r.low_share
    for place in np.unique(places).tolist():
        usable = r.apart_nm(np.array([place]), np.arange(r.archive.size))[0][0] >= NEAR_NM
        usable[place] = True
        near, weight = month_weights(r, place, usable)
        out[place] = np.clip(np.einsum("tkm,km->t", weight, share[near]), 0.0, 1.0)
    return out


def misses(archives: Archives, pairs: Pairs, estimate: dict[int, Floats] | None,
           ) -> tuple[Floats, Floats]:
    """Return by how much an estimate, or the own month alone, misses months of other source years.

    Returns
    -------
    two arrays of points   Against the same archive, and against the older one.
    """
    r = archives.records
    share = r.low_share
    own = share if estimate is None else np.stack([estimate.get(p, np.full(MONTHS, np.nan))
                                                  for p in range(r.archive.size)])
    gap = 100.0 * (own[pairs.place] - share[pairs.record])
    other_year = r.source_year[pairs.place] != r.source_year[pairs.record]
    older = (r.archive[pairs.record] != 0)[:, None]
    return gap[other_year & ~older], gap[other_year & older]


class LoweredShares:
    """Monthly shares of low weather of records as a place so much higher has them, in hundreds of feet; kept."""

    def __init__(self, archives: Archives) -> None:
        self._archives = archives
        self._kept: dict[tuple[int, int], Floats] = {}

    def of(self, records: Ints, rise_ft: float) -> Floats:
        """Return the shares of some records, [n, 12]."""
        hundreds = int(np.rint(rise_ft / 100.0))
        new = [row for row in records.tolist() if (row, hundreds) not in self._kept]
        if new:
            code = self._archives.ceiling_100ft[new].astype(np.int64)
            code = np.where(code < CEILING_NONE, np.clip(code - hundreds, 0, CEILING_NONE - 1), code).astype(np.uint8)
            found = low_by_month(code, self._archives.visibility_0p1sm[new])
            self._kept.update({(row, hundreds): one for row, one in zip(new, found, strict=True)})
        return np.array([self._kept[row, hundreds] for row in records.tolist()])


def left_out(archives: Archives, assumptions: Assumptions, places: Ints) -> Floats:
    """Return monthly shares of places blended from neighbours whose climate was estimated without them, [n, 12].

    A place's older record does not count either. The blend is the program's own for a place without a station.
    """
    packaged, r = StationTable.packaged(), archives.records
    lowered = LoweredShares(archives)
    order = packaged.raw_row
    row_of = np.argsort(order)
    out = []
    for place in places.tolist():
        row = row_of[place]
        usable = r.apart_nm(np.array([place]), np.arange(r.archive.size))[0][0] >= 5.0
        usable[r.archive == 0] = True
        usable[place] = False
        blend = neighbours(packaged, *(np.array([v[row]]) for v in (packaged.latitude_deg, packaged.longitude_deg,
                                                                    packaged.elevation_ft)), assumptions,
                           assumptions["weather.blend_stations"], leave_out=np.array([row]))
        total = np.zeros(MONTHS)
        for station, weight in zip(blend.station[0].tolist(), blend.weight[0].tolist(), strict=True):
            near, months = month_weights(r, int(order[station]), usable)
            share = lowered.of(near, packaged.elevation_ft[row] - packaged.elevation_ft[station])
            total += weight * np.clip(np.einsum("tkm,km->t", months, share), 0.0, 1.0)
        out.append(total)
    return np.array(out)


def regions(lat: Floats, lon: Floats, shore_nm: Floats, elevation_ft: Floats, state: NDArray[np.str_],
            ) -> dict[str, Bools]:
    """Return which stations lie in regions whose weather has a course of its own.

    Parameters
    ----------
    lat : (station,) array            Latitude. [deg]
    lon : (station,) array            Longitude. [deg]
    shore_nm : (station,) array       To the sea. [nm]
    elevation_ft : (station,) array   Of stations. [ft]
    state : (station,) array          Of the union.
    """
    new_england = np.isin(state, ["ME", "NH", "VT", "MA", "RI", "CT"]) | (state == "NY") & (lon > -75.5)
    valley = (state == "CA") & (shore_nm > 20) & (elevation_ft < 600) & (lat > 35.2) & (lat < 40.8) & (lon > -122.6)
    return {
        "Central Valley": valley & (lon < -118.7),
        "California coast": (state == "CA") & (shore_nm < 15) & (elevation_ft < 1000),
        "Desert Southwest": ((np.isin(state, ["AZ"]) & (elevation_ft < 4500)) | (state == "NV") & (lat < 37.5)
                             | (state == "CA") & (lon > -117.0) & (shore_nm > 45) & (lat < 36.5)),
        "Florida peninsula": (state == "FL") & (lat < 29.3),
        "New England": new_england,
        "Appalachians": (np.isin(state, ["WV"]) | (state == "VA") & (lon < -79) | (state == "NC") & (lon < -81.5)
                          | (state == "TN") & (lon < -83.5) | (state == "KY") & (lon < -82.5)),
        "Gulf coast": (lat < 31) & (shore_nm < 25) & (lon < -82.5) & (lon > -98),
        "west coast": (shore_nm < 15) & (lon < -117) & ((lon < -120) | (lat < 34.6)),
    }


def contiguous_of(states: NDArray[np.str_]) -> Bools:
    """Return which stations lie in the contiguous states."""
    return ~np.isin(states, sorted(OUTSIDE))


def table_low(packaged: StationTable) -> Floats:
    """Return the share of IFR or worse of every packaged station, [s, 12, 8]."""
    out = []
    for row in range(packaged.latitude_deg.size):
        climate = packaged.climate(row)
        kind = category(ceiling_from_code(climate.ceiling_100ft), visibility_from_code(climate.visibility_0p1sm))
        out.append((kind >= 2) @ PAIR_SHARE)
    return np.array(out)


def main() -> None:
    """Print the scores."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--raw", type=Path, default=RAW, help="folder of the raw weather data")
    archives = Archives.read(parser.parse_args().raw)
    print("\n".join([*pair_lines(archives), *left_out_lines(archives), *region_lines(archives)]))


def pair_lines(archives: Archives) -> list[str]:
    """Return the scores against other source years."""
    pairs = independent_pairs(archives, contiguous_of(archives.state))
    found = estimates(archives, pairs.place)
    lines = ["month of another source year missed by, points rms (bias): same archive, older archive"]
    for name, part in (("chosen on", pairs.choosing), ("scored", ~pairs.choosing), ("all", pairs.choosing | True)):
        some = Pairs(pairs.place[part], pairs.record[part], pairs.choosing[part])
        for what, estimate in (("own month", None), ("estimate", found)):
            same, older = misses(archives, some, estimate)
            lines.append(f"  {name:10s} {what:10s} {_rms(same):.2f} ({same.mean():+.2f}, {same.size})   "
                         f"{_rms(older):.2f} ({older.mean():+.2f}, {older.size})")
    return lines


def left_out_lines(archives: Archives) -> list[str]:
    """Return the scores of places without a station."""
    r, share = archives.records, archives.records.low_share
    places = np.flatnonzero((r.archive == 0) & contiguous_of(archives.state))
    gap = 100.0 * (left_out(archives, packaged_assumptions(), places) - share[places])
    lines = [f"stations left out ({places.size}): yearly share {_rms(gap @ MONTH_SHARE):.2f} points rms, bias "
             f"{(gap @ MONTH_SHARE).mean():+.2f}; by month {_rms(gap):.2f}",
             "  bias by month " + " ".join(f"{b:+.1f}" for b in gap.mean(axis=0))]
    area = regions(r.latitude_deg, r.longitude_deg, r.shore_nm, r.elevation_ft, archives.state)
    lines += [f"  {name:18s} {(gap @ MONTH_SHARE)[part[places]].mean():+.2f}" for name, part in area.items()]
    return lines


def region_lines(archives: Archives) -> list[str]:
    """Return the yearly and daily course of low weather by region: on record and in the packaged table."""
    r, packaged = archives.records, StationTable.packaged()
    order, low = packaged.raw_row, table_low(packaged)
    raw = archives.records.low_share[:order.size]
    main = contiguous_of(archives.state)[:order.size]
    columns = (a[:order.size] for a in (r.latitude_deg, r.longitude_deg, r.shore_nm, r.elevation_ft, archives.state))
    area = {"contiguous states": main, **regions(*columns)}
    lines = ["IFR or worse, percent: year, January to December; block of 06-09 and of 15-18 h; on record, then table"]
    for name, part in area.items():
        rows = np.flatnonzero(part[order] & main[order])
        ours = 100 * low[rows].mean(axis=(0, 2))
        lines.append(f"  {name:18s} {rows.size:3d} {100 * (raw[part & main] @ MONTH_SHARE).mean():5.1f}  "
                     + " ".join(f"{v:4.1f}" for v in 100 * raw[part & main].mean(axis=0)))
        lines.append(f"  {'':22s} {ours @ MONTH_SHARE:5.1f}  " + " ".join(f"{v:4.1f}" for v in ours)
                     + f"   {100 * low[rows][:, :, 2].mean():.1f} {100 * low[rows][:, :, 5].mean():.1f}")
    year = 100 * low[main[order]].mean(axis=2) @ MONTH_SHARE
    lines.append("  stations' years, 5, 25, 50, 75, 95 %: "
                 + " ".join(f"{v:.1f}" for v in np.percentile(year, [5, 25, 50, 75, 95])))
    return lines


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values * values)))


if __name__ == "__main__":
    main()
