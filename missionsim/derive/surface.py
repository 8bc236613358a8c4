"""Build the packaged station climates from the raw years of hourly reports: `python -m missionsim.derive.surface`.

1. Every station's own year goes through `world.surface.station_climate`; ceilings and visibilities then are drawn from
   the reports of several months and stations, weighted as the best estimate of the climate (`derive.climate_estimate`).
2. Thunder, freezing precipitation and the day's course of temperature lean on neighbours (`derive.neighbour_fields`).
3. Stations are ordered along a curve through latitude and longitude, so that a study's stations share chunks.
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Codes, Floats, Ints
from missionsim.derive.climate_estimate import Records, month_weights
from missionsim.derive.coast import RAW as SHORE
from missionsim.derive.coast import shore_distance_nm
from missionsim.derive.neighbour_fields import day_courses, freezing_shares, thunder_shares
from missionsim.world.surface.flight_category import CEILING_NONE, category, ceiling_from_code, visibility_from_code
from missionsim.world.surface.station_climate import (
    BLOCKS,
    MONTH_OF_HOUR,
    MONTHS,
    PAIR_SHARE,
    HourlyReports,
    ranked_pairs,
    station_climate,
)
from missionsim.world.surface.station_table import BLOCK_STATIONS, chunk_name, pack

FEET_PER_METRE = 1 / 0.3048
RAW = Path(__file__).resolve().parents[2] / ".." / "shared" / "weather"
OUT = Path(__file__).resolve().parents[1] / "data" / "surface_climate.npz"
SOURCE = ("Typical Meteorological Years 3 and 2, US National Renewable Energy Laboratory "
          "(Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008)")


def read_raw(folder: Path, name: str = "tmy3") -> tuple[dict[str, NDArray], list[dict[str, str]]]:
    """Return the raw arrays and the rows of the stations file of one archive, `tmy3` or the older `tmy2`."""
    with np.load(folder / f"{name}_hourly.npz") as archive:
        raw = {key: archive[key] for key in archive.files}
    with (folder / f"{name}_stations.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return raw, rows


def reports_of(raw: dict[str, NDArray], row: int) -> HourlyReports:
    """Return one station's year of reports."""
    def bits(name: str) -> Bools:
        return np.unpackbits(raw[name][row])[:8760].astype(bool)

    return HourlyReports(
        raw["ceiling_100ft"][row], raw["visibility_0p1sm"][row], raw["temperature_c"][row].astype(float),
        raw["wind_from_10deg"][row] * 10.0, raw["wind_kt"][row].astype(float),
        raw["pressure_hpa"][row].astype(float), bits("thunder_bits"), bits("freezing_precip_bits"))


@dataclass(frozen=True)
class Archives:
    """The reports of all archives, one after the other: `ceiling_100ft`, `visibility_0p1sm` [s, 8760], `state` [s]."""

    records: Records
    state: NDArray[np.str_]
    ceiling_100ft: Codes
    visibility_0p1sm: Codes

    @classmethod
    def read(cls, folder: Path, shore: Path = SHORE) -> Archives:
        """Return the reports of both archives in `folder`, the packaged one first; `shore`: outline of the country."""
        parts = [read_raw(folder, name) for name in ("tmy3", "tmy2")]
        rows = [row for _, stations in parts for row in stations]
        lat, lon, metres = (np.array([float(row[key]) for row in rows]) for key in ("lat", "lon", "elev_m"))
        archive = np.repeat([0, 1], [len(stations) for _, stations in parts])
        source = np.concatenate([raw["source_year_by_month"] for raw, _ in parts]).astype(np.int64)
        ceiling, visibility = (np.concatenate([raw[key] for raw, _ in parts])
                               for key in ("ceiling_100ft", "visibility_0p1sm"))
        records = Records(lat, lon, metres * FEET_PER_METRE, shore_distance_nm(lat, lon, shore), archive, source,
                          low_by_month(ceiling, visibility))
        return cls(records, np.array([row["state"] for row in rows]), ceiling, visibility)

    def pairs(self, station: int, usable: Bools | None = None) -> tuple[NDArray, NDArray]:
        """Return the ranked pairs of ceiling and visibility estimated at a station, from all or the usable ones."""
        every = np.ones(self.records.archive.size, dtype=bool)
        near, weight = month_weights(self.records, station, every if usable is None else usable)
        return ranked_pairs(self.ceiling_100ft[near], self.visibility_0p1sm[near], weight)


def low_by_month(ceiling_100ft: Codes, visibility_0p1sm: Codes) -> Floats:
    """Return the share of IFR or worse in each month of the reports, [s, 12]."""
    low = category(ceiling_from_code(ceiling_100ft), visibility_from_code(visibility_0p1sm)) >= 2
    return np.stack([low[:, month == MONTH_OF_HOUR].mean(axis=1) for month in range(MONTHS)], axis=1)


def spatial_order(lat: NDArray, lon: NDArray) -> Ints:
    """Return station rows ordered along a Z curve of half-degree boxes."""
    a, b = ((lat + 90) * 2).astype(np.int64), ((lon + 360) * 2).astype(np.int64)
    code = np.zeros(lat.size, dtype=np.int64)
    for bit in range(10):
        code |= ((a >> bit) & 1) << (2 * bit + 1) | ((b >> bit) & 1) << (2 * bit)
    return np.lexsort((np.arange(lat.size), code))


def build(folder: Path) -> dict[str, NDArray]:
    """Return the arrays of the packaged table."""
    parts = [read_raw(folder, name) for name in ("tmy3", "tmy2")]
    raw, rows = parts[0]
    lat = np.array([float(r["lat"]) for r in rows])
    lon = np.array([float(r["lon"]) for r in rows])
    archives, wanted = Archives.read(folder), np.arange(len(rows))
    own = [station_climate(reports_of(raw, k), archives.pairs(k)) for k in range(len(rows))]
    thunder = np.concatenate([np.unpackbits(r["thunder_bits"], axis=1)[:, :8760] for r, _ in parts]).astype(bool)
    offset = np.array([float(row["utc_offset_h"]) for _, stations in parts for row in stations])
    cloud = np.stack([(c.ceiling_100ft != CEILING_NONE) @ PAIR_SHARE for c in own])
    storms = thunder_shares(archives.records, thunder, wanted, cloud)
    freezing = freezing_shares(archives.records, np.stack([c.freezing_share for c in own]).astype(float), wanted)
    temperature = np.concatenate([r["temperature_c"] for r, _ in parts]).astype(float)
    courses = day_courses(archives.records, temperature, offset, wanted)
    climates = [replace(c, thunder_share=storms[k].astype(np.float32), freezing_share=freezing[k].astype(np.float32),
                        temperature_c=courses[k].astype(np.float32)) for k, c in enumerate(own)]
    order = spatial_order(lat, lon)
    arrays: dict[str, NDArray] = {
        "latitude_deg": lat[order], "longitude_deg": lon[order],
        "elevation_ft": np.array([float(rows[k]["elev_m"]) * FEET_PER_METRE for k in order]),
        "utc_offset_h": np.array([float(rows[k]["utc_offset_h"]) for k in order]),
        "name": np.array([rows[k]["name"].encode() for k in order]),
        "state": np.array([rows[k]["state"].encode() for k in order]),
        "raw_row": order.astype(np.int32),
        "meta_source": np.array(SOURCE), "meta_date": np.array("1961 to 2005"),
        "meta_note": np.array(f"{MONTHS} months x {BLOCKS} blocks of 3 h; shrunk to neighbours, older years"),
    }
    for chunk in range(-(-len(order) // BLOCK_STATIONS)):
        members = [climates[k] for k in order[chunk * BLOCK_STATIONS:(chunk + 1) * BLOCK_STATIONS]]
        arrays[chunk_name(chunk)] = np.frombuffer(pack(members), dtype=np.uint8)
    return arrays


def main() -> None:
    """Write the packaged table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--raw", type=Path, default=RAW, help="folder of the raw weather data")
    parser.add_argument("--out", type=Path, default=OUT)
    arguments = parser.parse_args()
    np.savez(arguments.out, **build(arguments.raw))
    print(f"{arguments.out}: {arguments.out.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
