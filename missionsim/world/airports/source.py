"""Reduce the two open airport tables (airports, runways) to the compact arrays an `AirportTable` lives on.

Columns are those of the OurAirports download (public domain). Entries of the result, n airports, m runway ends:

==================  =========================  =======================================================
entry               type                       meaning
==================  =========================  =======================================================
ident               (n,) bytes                 the identifier to show
latitude_microdeg   (n,) int32                 and longitude_microdeg: 1e-6 degrees
elevation_ft        (n,) int16                 guessed from the surroundings where not elevation_known
size                (n,) uint8                 0 small, 1 medium, 2 large
public              (n,) bool                  open to everybody, as its identifier and name suggest
region, timezone    (n,) uint16                rows of region_names, timezone_names
declination_cdeg    (n,) int16                 hundredths of a degree, east positive
name, municipality  bytes as uint8             UTF-8, one line an airport
code, code_airport  (k,) bytes, int32          every identifier, sorted, and the airport it means
first_end           (n+1,) int32               ends of airport i are first_end[i] to first_end[i+1]
end_*               (m,)                       ident, heading_ddeg (tenths, true), length_ft,
                                               displaced_ft, width_ft (0 unknown), surface, lighted
==================  =========================  =======================================================
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from missionsim.world.airports.records import SURFACES, heading_from_ident, surface_class

SIZES = {"small_airport": 0, "medium_airport": 1, "large_airport": 2}

_HEADING_DOUBT_DEG = 25.0
"""A printed heading further than this from both the magnetic and the true reading of the number is a slip."""

_PRIVATE_CODE = r"(?:\d\d[A-Z]{2}|[A-Z]{2}\d\d|[A-Z]\d{3}|\d[A-Z]{2}\d|\d[A-Z]\d\d|\d\d[A-Z]\d|\d[A-Z]\d[A-Z])"
"""US airfields in private use bear four characters with letters and digits; those open to the public bear three, or
four letters."""
_CLOSED_TO_MOST = (r"\b(?:private|air force|afb|army|naval|nas|navy|marine corps|mcas|coast guard|air base|"
                   r"air reserve|air national guard base|nolf|cfb|military|usaf|space force)\b")

Frame = pd.DataFrame


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a place on the map implies: arrays over airports.

    Parameters
    ----------
    timezone : (n,) str array          IANA time zone.
    declination_deg : (n,) array       Magnetic declination, east positive. [deg]
    elevation_ft : (n,) array          Elevation of the ground, NaN where not known. [ft]
    """

    timezone: np.ndarray
    declination_deg: np.ndarray
    elevation_ft: np.ndarray


def reduce_tables(airports: Frame, runways: Frame, surroundings: Callable[[Frame], Surroundings],
                  continents: Iterable[str] = ("NA",)) -> dict[str, np.ndarray]:
    """Return the compact arrays of every open land airport.

    Parameters
    ----------
    airports, runways : DataFrame   The two downloads, every column read as text, empty cells missing.
    surroundings : function         From the kept airports (latitude_deg, longitude_deg) to `Surroundings`.
    continents : words              Continents to keep; `NA` is North America with Central America and the Caribbean.

    Returns
    -------
    dict of arrays                  As in the table at the top of this module.
    """
    kept = _land_airports(airports, set(continents))
    around = surroundings(kept)
    known = kept["elevation_ft"].notna().to_numpy()
    elevation_ft = np.where(known, kept["elevation_ft"], around.elevation_ft)
    elevation_ft = _filled_from_neighbours(kept, elevation_ft)
    zones, zone = np.unique(np.asarray(around.timezone, dtype=str), return_inverse=True)
    regions, region = np.unique(kept["iso_region"].fillna("").to_numpy(dtype=str), return_inverse=True)
    code, code_airport = _code_index(kept)
    return {
        "ident": _shown_idents(kept, code, code_airport),
        "latitude_microdeg": _scaled(kept["latitude_deg"], 1e6, np.int32),
        "longitude_microdeg": _scaled(kept["longitude_deg"], 1e6, np.int32),
        "elevation_ft": _scaled(elevation_ft, 1, np.int16), "elevation_known": known,
        "size": kept["type"].map(SIZES).to_numpy(dtype=np.uint8), "public": _public(kept),
        "region": region.astype(np.uint16), "region_names": regions.astype(bytes),
        "timezone": zone.astype(np.uint16), "timezone_names": zones.astype(bytes),
        "declination_cdeg": _scaled(around.declination_deg, 100, np.int16),
        "name": _lines(kept["name"]), "municipality": _lines(kept["municipality"]),
        "code": code, "code_airport": code_airport,
        **_runway_ends(kept, runways, np.asarray(around.declination_deg)),
    }


def _land_airports(airports: Frame, continents: set[str]) -> Frame:
    frame = airports[airports["type"].isin(SIZES) & airports["continent"].isin(continents)]
    frame = frame.dropna(subset=["ident", "latitude_deg", "longitude_deg"]).copy()
    for column in ("latitude_deg", "longitude_deg", "elevation_ft"):
        frame[column] = pd.to_numeric(frame[column], errors="coerce").astype(float)
    if "icao_code" not in frame:
        frame["icao_code"] = None
    return frame.drop_duplicates("ident").sort_values("ident", kind="stable").reset_index(drop=True)


def _public(kept: Frame) -> np.ndarray:
    us = kept["iso_country"] == "US"
    local = kept["local_code"].fillna(kept["ident"]).str.upper()
    private = us & (local.str.fullmatch(_PRIVATE_CODE) | (us & kept["ident"].str.contains("-")))
    served = kept["scheduled_service"].fillna("no") == "yes"
    closed = kept["name"].fillna("").str.lower().str.contains(_CLOSED_TO_MOST)
    return ((~private & ~closed) | served).to_numpy(dtype=bool)


def _filled_from_neighbours(kept: Frame, elevation_ft: np.ndarray, neighbours: int = 3) -> np.ndarray:
    known = np.isfinite(elevation_ft)
    lat, lon = kept["latitude_deg"].to_numpy(), kept["longitude_deg"].to_numpy()
    filled = np.where(known, elevation_ft, 0.0)
    for i in np.flatnonzero(~known):
        squared = (lat[known] - lat[i]) ** 2 + ((lon[known] - lon[i]) * np.cos(np.radians(lat[i]))) ** 2
        near = np.argsort(squared, kind="stable")[:neighbours]
        filled[i] = np.average(elevation_ft[known][near], weights=1.0 / (squared[near] + 1e-4)) if near.size else 0.0
    return filled


def _code_index(kept: Frame) -> tuple[np.ndarray, np.ndarray]:
    """Return every identifier, sorted, with the airport it means: ICAO before ident before US local before IATA."""
    text = {c: kept[c].fillna("").str.strip().str.upper().to_numpy(dtype=str)
            for c in ("icao_code", "gps_code", "ident", "local_code", "iata_code")}
    four = {c: np.char.isalpha(text[c]) & (np.char.str_len(text[c]) == 4) for c in ("gps_code", "ident")}
    us = (kept["iso_country"] == "US").to_numpy()
    ranked = [text["icao_code"], np.where(four["gps_code"], text["gps_code"], ""),
              np.where(four["ident"], text["ident"], ""), text["ident"], text["gps_code"],
              np.where(us, text["local_code"], ""), text["iata_code"], text["local_code"]]
    frame = pd.DataFrame({
        "code": np.concatenate(ranked),
        "rank": np.repeat(np.arange(len(ranked)), len(kept)),
        "size": np.tile(-kept["type"].map(SIZES).to_numpy(dtype=int), len(ranked)),
        "airport": np.tile(np.arange(len(kept)), len(ranked)),
    })
    frame = frame[(frame["code"] != "") & frame["code"].map(str.isascii)]
    frame = frame.sort_values(["code", "rank", "size", "airport"], kind="stable").drop_duplicates("code")
    code = frame["code"].to_numpy(dtype=str).astype(bytes)
    order = np.argsort(code, kind="stable")
    return code[order], frame["airport"].to_numpy(dtype=np.int32)[order]


def _shown_idents(kept: Frame, code: np.ndarray, code_airport: np.ndarray) -> np.ndarray:
    """Return the identifier to show: ICAO, else what people type there, but only one that leads back to it."""
    means = dict(zip(code.astype(str), code_airport, strict=True))
    columns = kept[["icao_code", "gps_code", "ident", "local_code", "iata_code"]].fillna("").to_numpy(dtype=str)
    shown = []
    for i, (icao, gps, ident, local, iata) in enumerate(np.char.upper(np.char.strip(columns))):
        icaos = [c for c in (icao, gps, ident) if len(c) == 4 and c.isalpha()]
        short = [c for c in (local, ident, gps, iata) if c and "-" not in c]
        shown.append(next((c for c in [*icaos, *short, ident] if means.get(c) == i), ident))
    return np.array(shown, dtype=str).astype(bytes)


def _runway_ends(kept: Frame, runways: Frame, declination_deg: np.ndarray) -> dict[str, np.ndarray]:
    rows = _open_runways(kept, runways)
    declination = declination_deg[rows["airport"].to_numpy(dtype=int)]
    low, high = _headings(rows, declination)
    ends = pd.concat([_one_end(rows, "le", low, 0), _one_end(rows, "he", high, 1)], ignore_index=True)
    ends = ends[np.isfinite(ends["heading"])].sort_values(["airport", "row", "side"], kind="stable")
    counts = np.bincount(ends["airport"].to_numpy(dtype=int), minlength=len(kept))
    return {
        "first_end": np.concatenate([[0], np.cumsum(counts)]).astype(np.int32),
        "end_ident": ends["ident"].to_numpy(dtype=str).astype("S4"),
        "end_heading_ddeg": _scaled(ends["heading"] % 360.0, 10, np.int16) % 3600,
        "end_length_ft": _scaled(ends["length"], 1, np.int16),
        "end_displaced_ft": _scaled(ends["displaced"], 1, np.int16),
        "end_width_ft": _scaled(ends["width"], 1, np.int16),
        "end_surface": ends["surface"].to_numpy(dtype=np.uint8),
        "end_lighted": ends["lighted"].to_numpy(dtype=bool),
    }


def _open_runways(kept: Frame, runways: Frame) -> Frame:
    rows = runways.copy()
    rows["airport"] = rows["airport_ident"].map(pd.Series(np.arange(len(kept)), index=kept["ident"]))
    rows["length"] = pd.to_numeric(rows["length_ft"], errors="coerce")
    rows["width"] = pd.to_numeric(rows["width_ft"], errors="coerce").fillna(0.0).clip(0, 2000)
    rows["kind"] = rows["surface"].fillna("").map(surface_class)
    pad = rows["le_ident"].fillna("").str.upper().str.match(r"H\d*$")
    rows = rows[rows["airport"].notna() & (rows["length"] >= 100) & (rows["length"] <= 20_000) & ~pad
                & (rows["closed"] != "1") & (rows["kind"] != "water")]
    rows = rows.assign(surface_row=rows["kind"].map(SURFACES.index), lit=rows["lighted"] == "1",
                       row=np.arange(len(rows)))
    return rows.astype({"airport": int}).reset_index(drop=True)


def _headings(rows: Frame, declination: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return true headings of both ends: as printed when credible, else from the other end, else from the name."""
    named, printed = [], []
    for side in ("le", "he"):
        idents = rows[f"{side}_ident"].fillna("")
        named.append(np.array([heading_from_ident(i, d) for i, d in zip(idents, declination, strict=True)]))
        given = pd.to_numeric(rows[f"{side}_heading_degT"], errors="coerce").to_numpy(dtype=float) % 360.0
        doubt = np.minimum(_turn(given, named[-1]), _turn(given, named[-1] - declination))
        printed.append(np.where(doubt > _HEADING_DOUBT_DEG, np.nan, given))
    choices = [(printed[0], printed[1] + 180.0, named[0], named[1] + 180.0),
               (printed[1], printed[0] + 180.0, named[1], named[0] + 180.0)]
    low, high = (np.select([np.isfinite(c) for c in choice], choice, np.nan) for choice in choices)
    return low, high


def _turn(a_deg: np.ndarray, b_deg: np.ndarray) -> np.ndarray:
    return np.abs((a_deg - b_deg + 180.0) % 360.0 - 180.0)


def _one_end(rows: Frame, side: str, heading: np.ndarray, number: int) -> Frame:
    displaced = pd.to_numeric(rows[f"{side}_displaced_threshold_ft"], errors="coerce").fillna(0.0)
    displaced = displaced.where((displaced > 0) & (displaced < rows["length"]), 0.0)
    ident = rows[f"{side}_ident"].fillna("").str.strip().str.upper()
    opposite = pd.Series([_opposite(i) for i in rows["le_ident"].fillna("")], index=rows.index)
    return pd.DataFrame({
        "airport": rows["airport"], "row": rows["row"], "side": number,
        "ident": ident.where(ident.str.len().between(1, 4) & ident.map(str.isascii), opposite if number else "?"),
        "heading": heading, "length": rows["length"], "displaced": displaced, "width": rows["width"],
        "surface": rows["surface_row"], "lighted": rows["lit"]})


def _opposite(ident: str) -> str:
    match = re.fullmatch(r"(\d{1,2})([LRC]?)", ident.strip().upper())
    if not match:
        return "?"
    return f"{(int(match[1]) + 17) % 36 + 1:02d}{ {'L': 'R', 'R': 'L'}.get(match[2], match[2])}"


def _lines(column: pd.Series) -> np.ndarray:
    text = "\n".join(" ".join(str(v).split()) for v in column.fillna(""))
    return np.frombuffer(text.encode("utf-8"), dtype=np.uint8)


def _scaled(values: np.ndarray | pd.Series, factor: float, kind: type) -> np.ndarray:
    return np.rint(np.asarray(values, dtype=float) * factor).astype(kind)
