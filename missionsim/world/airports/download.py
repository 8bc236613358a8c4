"""An airport table from a newer download of the two open tables that the user points to."""

from __future__ import annotations

from typing import IO

import numpy as np
import pandas as pd

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError
from missionsim.physics.geodesy import haversine_nm
from missionsim.world.airports.source import Surroundings, reduce_tables
from missionsim.world.airports.table import AirportTable

AIRPORT_COLUMNS = ("ident", "type", "name", "latitude_deg", "longitude_deg", "elevation_ft", "continent", "iso_country",
                   "iso_region", "municipality", "scheduled_service", "gps_code", "iata_code", "local_code")
RUNWAY_COLUMNS = ("airport_ident", "length_ft", "width_ft", "surface", "lighted", "closed",
                  "le_ident", "le_heading_degT", "le_displaced_threshold_ft",
                  "he_ident", "he_heading_degT", "he_displaced_threshold_ft")


def read_frame(file: IO[str]) -> pd.DataFrame:
    """Return one download as a frame of text, empty cells missing."""
    return pd.read_csv(file, dtype=str, keep_default_na=False, na_values=[""])


def table_from_frames(airports: pd.DataFrame, runways: pd.DataFrame, assumptions: Assumptions,
                      names: tuple[str, str] = ("airports.csv", "runways.csv")) -> AirportTable:
    """Return the table of a newer download; time zone and declination are those of the nearest packaged airport.

    Parameters
    ----------
    airports, runways : DataFrame   As `read_frame` returns them.
    assumptions : Assumptions       The group `airport` fills what open data lacks.
    names : two words               Names of the two files, for faults.

    Raises
    ------
    InputError                      If columns are missing or no airport is left.
    """
    faults = [Fault(name, column, "column is missing", ", ".join(wanted))
              for name, frame, wanted in zip(names, (airports, runways), (AIRPORT_COLUMNS, RUNWAY_COLUMNS), strict=True)
              for column in wanted if column not in frame]
    if faults:
        raise InputError(faults)
    packaged = AirportTable.packaged(assumptions)
    arrays = reduce_tables(airports, runways, lambda kept: _surroundings(kept, packaged))
    if not arrays["ident"].size:
        raise InputError([Fault(names[0], "", "no open land airport of North America in it")])
    return AirportTable(arrays, assumptions)


def _surroundings(kept: pd.DataFrame, packaged: AirportTable) -> Surroundings:
    lat, lon = kept["latitude_deg"].to_numpy(), kept["longitude_deg"].to_numpy()
    nearest = _nearest(lat, lon, packaged)
    zones, arrays = packaged.arrays["timezone_names"].astype(str), packaged.arrays
    return Surroundings(zones[arrays["timezone"][nearest]], arrays["declination_cdeg"][nearest] * 0.01,
                        np.full(lat.shape, np.nan))


def _nearest(lat: np.ndarray, lon: np.ndarray, packaged: AirportTable) -> np.ndarray:
    """Return the packaged row nearest to each place, looking only at a band of latitude at a time."""
    order = np.argsort(packaged.latitude_deg, kind="stable")
    sorted_lat, sorted_lon = packaged.latitude_deg[order], packaged.longitude_deg[order]
    rows = np.empty(lat.size, dtype=int)
    for i, (here_lat, here_lon) in enumerate(zip(lat, lon, strict=True)):
        low, high = np.searchsorted(sorted_lat, (here_lat - 0.5, here_lat + 0.5))
        low, high = (low, high) if high > low else (0, order.size)
        distance = haversine_nm(here_lat, here_lon, sorted_lat[low:high], sorted_lon[low:high])
        rows[i] = order[low + int(np.argmin(distance))]
    return rows
