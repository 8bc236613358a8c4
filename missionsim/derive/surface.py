"""Build the packaged station climates from the raw year of hourly reports: `python -m missionsim.derive.surface`.

1. Every station's reports go through `world.climate_cells.station_climate`.
2. Thunder is under-reported at many automatic stations and wildly over-reported at a few. Its yearly level at
   a place is the 60 % point of the levels of stations around (Gaussian weights, 75 nm), counting thunder *days*,
   which stuck sensors distort less; its shape over months and blocks comes from those within a factor
   of 2.5 of that level, smoothed over adjoining months and blocks.
3. Freezing precipitation is averaged over neighbours (100 nm) and adjoining months.
4. Stations are ordered along a curve through latitude and longitude, so that a study's stations share chunks.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from missionsim.world.surface.station_climate import (
    BLOCKS,
    MONTH_DAYS,
    MONTHS,
    HourlyReports,
    StationClimate,
    station_climate,
)
from missionsim.world.surface.station_table import CHUNK, chunk_name, pack

FEET_PER_METRE = 1 / 0.3048
THUNDER_REACH_NM = 75.0
THUNDER_LEVEL_SHARE = 0.6
THUNDER_FACTOR = 2.5
THUNDER_LAND_REACH_NM = 400.0
FREEZING_REACH_NM = 100.0
EARTH_RADIUS_NM = 3440.065
RAW = Path(__file__).resolve().parents[2] / ".." / "shared" / "weather"
OUT = Path(__file__).resolve().parents[1] / "data" / "surface_climate.npz"
SOURCE = ("Typical Meteorological Year 3, US National Renewable Energy Laboratory "
          "(Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008)")


def read_raw(folder: Path) -> tuple[dict[str, NDArray], list[dict[str, str]]]:
    """Return the raw arrays and the rows of the stations file."""
    with np.load(folder / "tmy3_hourly.npz") as archive:
        raw = {key: archive[key] for key in archive.files}
    with (folder / "tmy3_stations.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return raw, rows


def reports_of(raw: dict[str, NDArray], row: int) -> HourlyReports:
    """Return one station's year of reports."""
    def bits(name: str) -> NDArray[np.bool_]:
        return np.unpackbits(raw[name][row])[:8760].astype(bool)

    return HourlyReports(
        raw["ceiling_100ft"][row], raw["visibility_0p1sm"][row], raw["temperature_c"][row].astype(float),
        raw["dewpoint_c"][row].astype(float), raw["wind_from_10deg"][row] * 10.0, raw["wind_kt"][row].astype(float),
        raw["pressure_hpa"][row].astype(float), bits("thunder_bits"), bits("freezing_precip_bits"))


def distances_nm(lat: NDArray, lon: NDArray) -> NDArray[np.float64]:
    """Return the great-circle distances between all stations."""
    lat, lon = np.radians(lat), np.radians(lon)
    place = np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=1)
    chord = np.sqrt(np.maximum(((place[:, None] - place[None]) ** 2).sum(axis=2), 0.0))
    return 2 * EARTH_RADIUS_NM * np.arcsin(np.minimum(chord / 2, 1.0))


def smooth_months_blocks(values: NDArray, by_block: bool = True) -> NDArray[np.float64]:
    """Return cells averaged 1-2-1 over adjoining months, and over blocks where there are any."""
    out = 0.25 * np.roll(values, 1, 1) + 0.5 * values + 0.25 * np.roll(values, -1, 1)
    return 0.2 * np.roll(out, 1, 2) + 0.6 * out + 0.2 * np.roll(out, -1, 2) if by_block else out


def smoothed_thunder(share: NDArray, days: NDArray, distance: NDArray) -> NDArray[np.float64]:
    """Return thunder shares [station, month, block] freed from silent and stuck sensors.

    Parameters
    ----------
    share : (s, 12, 8)   Share of hours with thunder as reported.
    days : (s,)          Days with thunder as reported.
    distance : (s, s)    [nm]
    """
    hours = (share.mean(axis=2) @ np.array(MONTH_DAYS)) * 24.0
    winter = share[:, [0, 1, 11]].mean(axis=(1, 2)) / np.maximum(share.mean(axis=(1, 2)), 1e-9)
    # A working sensor hears one to four hours on a day with thunder, and most of them not in winter.
    sound = (days > 0) & (hours / np.maximum(days, 1) < 4.5) & (winter < 1.5)
    out = np.zeros_like(share)
    for s in range(share.shape[0]):
        weight = np.exp(-0.5 * (distance[s] / THUNDER_REACH_NM) ** 2)
        weight[~sound] *= 0.02
        order = np.argsort(hours, kind="stable")
        filled = np.cumsum(weight[order])
        level = hours[order[np.searchsorted(filled, THUNDER_LEVEL_SHARE * filled[-1])]]
        like = weight * ((hours > level / THUNDER_FACTOR) & (hours < level * THUNDER_FACTOR))
        shape = np.tensordot(like, share, 1)
        yearly = (shape.mean(axis=1) @ np.array(MONTH_DAYS)) * 24.0
        out[s] = shape * (level / yearly) if yearly > 0 else 0.0
    return smooth_months_blocks(out)


def smoothed_freezing(share: NDArray, distance: NDArray) -> NDArray[np.float64]:
    """Return freezing precipitation shares [station, month] averaged over neighbours and months."""
    weight = np.exp(-0.5 * (distance / FREEZING_REACH_NM) ** 2)
    near = weight @ share / weight.sum(axis=1, keepdims=True)
    return smooth_months_blocks(near, by_block=False)


def spatial_order(lat: NDArray, lon: NDArray) -> NDArray[np.int64]:
    """Return station rows ordered along a Z curve of half-degree boxes."""
    a, b = ((lat + 90) * 2).astype(np.int64), ((lon + 360) * 2).astype(np.int64)
    code = np.zeros(lat.size, dtype=np.int64)
    for bit in range(10):
        code |= ((a >> bit) & 1) << (2 * bit + 1) | ((b >> bit) & 1) << (2 * bit)
    return np.lexsort((np.arange(lat.size), code))


def smoothed(climates: list[StationClimate], days: NDArray, distance: NDArray) -> list[StationClimate]:
    """Return the climates with thunder and freezing precipitation smoothed over neighbours."""
    thunder = smoothed_thunder(np.stack([c.thunder_share for c in climates]).astype(float), days, distance)
    freezing = smoothed_freezing(np.stack([c.freezing_share for c in climates]).astype(float), distance)
    names = StationClimate.__dataclass_fields__
    return [StationClimate(**{**{n: getattr(c, n) for n in names},
                              "thunder_share": thunder[k].astype(np.float32),
                              "freezing_share": freezing[k].astype(np.float32)}) for k, c in enumerate(climates)]


def build(folder: Path) -> dict[str, NDArray]:
    """Return the arrays of the packaged table."""
    raw, rows = read_raw(folder)
    lat = np.array([float(r["lat"]) for r in rows])
    lon = np.array([float(r["lon"]) for r in rows])
    climates = [station_climate(reports_of(raw, k)) for k in range(len(rows))]
    thunder = np.unpackbits(raw["thunder_bits"], axis=1)[:, :8760].reshape(len(rows), 365, 24)
    climates = smoothed(climates, thunder.any(axis=2).sum(axis=1), distances_nm(lat, lon))
    order = spatial_order(lat, lon)
    arrays: dict[str, NDArray] = {
        "latitude_deg": lat[order], "longitude_deg": lon[order],
        "elevation_ft": np.array([float(rows[k]["elev_m"]) * FEET_PER_METRE for k in order]),
        "utc_offset_h": np.array([float(rows[k]["utc_offset_h"]) for k in order]),
        "name": np.array([rows[k]["name"].encode() for k in order]),
        "state": np.array([rows[k]["state"].encode() for k in order]),
        "raw_row": order.astype(np.int32),
        "meta_source": np.array(SOURCE), "meta_date": np.array("1976 to 2005, one typical year a station"),
        "meta_note": np.array(f"{MONTHS} months x {BLOCKS} blocks of 3 h; thunder within {THUNDER_REACH_NM:g} nm"),
    }
    for chunk in range(-(-len(order) // CHUNK)):
        members = [climates[k] for k in order[chunk * CHUNK:(chunk + 1) * CHUNK]]
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
