"""The one place that reads packaged tables: compressed numpy archives in `missionsim/data`, from a folder or a zip."""

from __future__ import annotations

import copyreg
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any

import numpy as np

from missionsim.base.errors import MissionsimError


def _unpacked(arrays: dict[str, np.ndarray]) -> Mapping[str, np.ndarray]:
    return MappingProxyType(arrays)


def _packed(mapping: Mapping[str, np.ndarray]) -> tuple[Callable[..., Any], tuple[dict[str, np.ndarray]]]:
    return _unpacked, (dict(mapping),)


# Tables travel to worker processes inside prepared studies; by itself a read-only mapping cannot be pickled.
copyreg.pickle(MappingProxyType, _packed)


class DataFileError(MissionsimError):
    """A packaged table is missing or damaged."""


@dataclass(frozen=True, slots=True)
class DataSource:
    """Where a packaged table comes from, for the report.

    Parameters
    ----------
    table : str   Name of the table.
    source : str  The published data it was reduced from.
    date : str    Date or period of that data.
    note : str    Models and constants that went into the reduction.
    """

    table: str
    source: str
    date: str
    note: str


@cache
def table(name: str) -> Mapping[str, np.ndarray]:
    """Return a packaged table as a read-only mapping of read-only arrays; read once per process.

    Tables carry their own story in the text entries `meta_source`, `meta_date` and `meta_note`.

    Parameters
    ----------
    name : str   File name in the data folder without `.npz`.

    Raises
    ------
    DataFileError   If there is no such table.
    """
    file = _folder().joinpath(f"{name}.npz")
    if not file.is_file():
        raise DataFileError(f"no packaged table {name!r}; there are: {', '.join(_names())}")
    with np.load(io.BytesIO(file.read_bytes()), allow_pickle=False) as archive:
        arrays = {key: archive[key] for key in archive.files}
    for array in arrays.values():
        array.setflags(write=False)
    return MappingProxyType(arrays)


def airport_arrays() -> Mapping[str, np.ndarray]:
    """Return the packaged airports and runways; see `world.airport_source` for the entries."""
    return table("airports")


def terrain_arrays() -> Mapping[str, np.ndarray]:
    """Return the packaged highest elevations; see `world.terrain` for the entries."""
    return table("terrain")


@cache
def sources() -> tuple[DataSource, ...]:
    """Return origin and date of every packaged table, by name. Reads only the text entries."""
    found = []
    for name in _names():
        with np.load(io.BytesIO(_folder().joinpath(f"{name}.npz").read_bytes()), allow_pickle=False) as archive:
            words = [str(archive[key]) if key in archive.files else ""
                     for key in ("meta_source", "meta_date", "meta_note")]
        found.append(DataSource(name, *words))
    return tuple(found)


def _folder() -> Traversable:
    return resources.files("missionsim").joinpath("data")


def _names() -> list[str]:
    return sorted(f.name.removesuffix(".npz") for f in _folder().iterdir() if f.name.endswith(".npz"))
