"""Records of arrays that know along which axis each of their fields runs, so that they are cut and joined whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

from missionsim.base.arrays import Array, Ints

Record = TypeVar("Record")
APART = "apart"
"""The axis of fields that hold for all entries, or that whoever cuts the record sees to."""


def axis(name: str, at: int = 0, **more: Any) -> Any:
    """Declare a field of a dataclass that has one entry along an axis, or records and tables of such arrays.

    A record without declared axes is cut like one array: all its fields have the same shape.

    Parameters
    ----------
    name : str     `leg`, `row`, `trip` ..., or `APART`.
    at : int       Which dimension of the array it is.
    more           As for `dataclasses.field`, such as a default.
    """
    return field(metadata={"axis": name, "at": at}, **more)


def fields_along(kind: Any, name: str) -> tuple[str, ...]:
    """Return the names of the fields of a dataclass along an axis."""
    return tuple(f.name for f in fields(kind) if f.metadata["axis"] == name)


def take(record: Record, name: str, rows: Ints, /, **apart: Any) -> Record:
    """Return a record with some entries along an axis, in the order given; other fields stay, or are given apart."""
    cut = {f.name: _some(getattr(record, f.name), name, rows, f.metadata["at"])
           for f in fields(record) if f.metadata["axis"] == name}  # type: ignore[arg-type]
    return replace(record, **{**cut, **apart})  # type: ignore[type-var]


def joined(records: Sequence[Any], name: str) -> dict[str, Array]:
    """Return the fields of records along an axis, one after the other; arrays only."""
    return {field_name: np.concatenate([getattr(record, field_name) for record in records])
            for field_name in fields_along(records[0], name)}


def equal(one: Any, other: Any) -> bool:
    """Tell whether two records, or two values, hold the same; arrays by their entries, NaN never."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if is_dataclass(one):
        return all(equal(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return bool(np.array_equal(one, other)) if isinstance(one, np.ndarray) else bool(one == other)


def _some(value: Any, name: str, rows: Ints, at: int) -> Any:
    if value is None:
        return None
    if is_dataclass(value) and not isinstance(value, type):
        if "axis" in fields(value)[0].metadata:
            return take(value, name, rows)
        return replace(value, **{f.name: np.take(getattr(value, f.name), rows, axis=at) for f in fields(value)})
    if isinstance(value, dict):
        return {key: _some(part, name, rows, at) for key, part in value.items()}
    return np.take(value, rows, axis=at)
