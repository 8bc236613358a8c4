"""The packaged station climates: how they are packed, and how only the stations needed are unpacked."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cache

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Codes, Floats, Ints32
from missionsim.world.data import table
from missionsim.world.surface.station_climate import BLOCKS, MONTHS, PAIRS, StationClimate

TABLE = "surface_climate"
BLOCK_STATIONS = 5
"""Stations in one compressed chunk, neighbours by the table's order."""

_CELL = (MONTHS, BLOCKS)
_SHAPES: dict[str, tuple[int, ...]] = {
    "ceiling_100ft": (MONTHS, BLOCKS, PAIRS), "visibility_0p1sm": (MONTHS, BLOCKS, PAIRS),
    "temperature_c": (MONTHS, 24), "pressure_hpa": (MONTHS,), "pressure_sd_hpa": (MONTHS,),
    "pressure_slope_hpa": (MONTHS,), "freezing_share": (MONTHS,),
}
_STEP = {"wind_correlation": 1e-3,
         "thunder_share": 1e-5, "freezing_share": 1e-5, "temperature_slope_c": 1e-2, "temperature_sd_c": 1e-2}
_STEP_DEFAULT = 0.05
_FIELDS = tuple(f.name for f in fields(StationClimate))


@dataclass(slots=True, eq=False)
class StationTable:
    """The stations and, on demand, their climates.

    Parameters
    ----------
    latitude_deg, longitude_deg, elevation_ft, utc_offset_h : (s,) float64
    name, state : (s,) bytes
    raw_row : (s,) int     Row of the raw archive.
    """

    latitude_deg: Floats
    longitude_deg: Floats
    elevation_ft: Floats
    utc_offset_h: Floats
    name: NDArray[np.bytes_]
    state: NDArray[np.bytes_]
    raw_row: Ints32
    _blobs: Mapping[str, Codes] = field(repr=False)
    _chunks: dict[int, tuple[StationClimate, ...]] = field(default_factory=dict, repr=False)

    @classmethod
    @cache
    def packaged(cls) -> StationTable:
        """Return the packaged stations, read once."""
        arrays = table(TABLE)
        lat, lon, height, offset = (arrays[n].astype(np.float64) for n in
                                    ("latitude_deg", "longitude_deg", "elevation_ft", "utc_offset_h"))
        return cls(lat, lon, height, offset, arrays["name"], arrays["state"], arrays["raw_row"], arrays)

    def climate(self, station: int) -> StationClimate:
        """Return the climate of one station by its row; its chunk is unpacked on the first call."""
        chunk, row = divmod(station, BLOCK_STATIONS)
        if chunk not in self._chunks:
            self._chunks[chunk] = unpack(self._blobs[chunk_name(chunk)].tobytes())
        return self._chunks[chunk][row]

    def label(self, station: int) -> str:
        """Return name and state of a station for people."""
        return f"{self.name[station].decode().title()}, {self.state[station].decode()}"


def chunk_name(chunk: int) -> str:
    """Return the entry of a chunk in the table."""
    return f"chunk_{chunk:03d}"


def pack(climates: Sequence[StationClimate]) -> bytes:
    """Return climates as one compressed block: fixed steps, whole numbers, field after field."""
    parts = [np.array([len(climates)], dtype=np.uint16).tobytes()]
    for name in _FIELDS:
        values = np.stack([getattr(climate, name) for climate in climates])
        if values.dtype != np.uint8:
            values = np.rint(values / _STEP.get(name, _STEP_DEFAULT)).astype(np.int32)
            values = np.clip(values, -32767, 32767).astype("<i2")
        parts.append(values.tobytes())
    return zlib.compress(b"".join(parts), 9)


def unpack(blob: bytes) -> tuple[StationClimate, ...]:
    """Return the climates of a block made by `pack`."""
    data = zlib.decompress(blob)
    count, at = int(np.frombuffer(data, np.uint16, 1)[0]), 2
    columns = []
    for name in _FIELDS:
        shape = (count, *_SHAPES.get(name, _CELL))
        kind = np.dtype(np.uint8) if name.endswith(("_100ft", "_0p1sm")) else np.dtype("<i2")
        values = np.frombuffer(data, kind, int(np.prod(shape)), at).reshape(shape)
        at += values.nbytes
        if kind != np.uint8:
            values = values.astype(np.float32) * np.float32(_STEP.get(name, _STEP_DEFAULT))
        columns.append(values)
    return tuple(StationClimate(*(column[k] for column in columns)) for k in range(count))
