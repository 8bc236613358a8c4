"""Arrays kept in as few bytes as they take, and handed out as they were, to the last bit.

Years flown leave columns of whole numbers in wide types, of dollars mostly zero, of hours that single precision
holds: a thousand years of several aircraft are kept as what they say and not as what they are computed with.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bools, Codes, Indices

SMALL_BYTES = 8_192
"""An array below this stays as it is: what a chunk of years holds until it is joined with others."""
_WHOLE = tuple(np.dtype(kind) for kind in ("u1", "i1", "u2", "i2", "u4", "i4"))
_BITS = {1: np.uint8, 2: np.uint16, 4: np.uint32, 8: np.uint64}
_WORTH_SHARE = 0.75
"""Zeros are left out of a single column where no more than this share of it is anything else."""

Kind = TypeVar("Kind")


@dataclass(frozen=True, slots=True)
class PackedArray:
    """An array by groups of columns that take the same type; columns that are zero throughout stand in none.

    Attributes
    ----------
    shape, dtype     As it was.
    there : bytes    Of a single column, a bit for each entry that is not zero; None where all are kept.
    groups           Columns, and their values in the narrowest type that holds them exactly.
    """

    shape: tuple[int, ...]
    dtype: np.dtype[Any]
    there: Codes | None
    groups: tuple[tuple[Indices, Array], ...]

    def unpacked(self) -> Array:
        """Return the array as it was."""
        rows = self.shape[0]
        out = np.zeros((rows, int(np.prod(self.shape[1:]))), dtype=self.dtype)
        there: Any = slice(None) if self.there is None else np.unpackbits(self.there, count=rows).view(bool)
        for columns, values in self.groups:
            if self.there is None:
                out[:, columns] = values
            else:
                out[there, 0] = values[:, 0]
        return out.reshape(self.shape)


def packed(value: Any) -> Any:
    """Return arrays, and those in records and mappings, in as few bytes as they take; anything else as it is."""
    if isinstance(value, np.ndarray):
        return _packed_array(value) if value.nbytes >= SMALL_BYTES and value.dtype.kind in "biuf" else value
    if isinstance(value, Mapping):
        return {key: packed(item) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, (type, PackedArray)):
        return PackedRecord(type(value), tuple(packed(getattr(value, f.name)) for f in fields(value)))
    return value


def unpacked(value: Any) -> Any:
    """Return what `packed` was given."""
    if isinstance(value, PackedArray):
        return value.unpacked()
    if isinstance(value, PackedRecord):
        return value.kind(*map(unpacked, value.values))
    if isinstance(value, Mapping):
        return {key: unpacked(item) for key, item in value.items()}
    return value


@dataclass(frozen=True, slots=True)
class PackedRecord:
    """A record whose values are packed."""

    kind: type
    values: tuple[Any, ...]


class Packing:
    """A field of a record that is kept packed: see `packing`."""

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = f"_{name}"

    def __get__(self, record: Any, owner: type) -> Any:
        return self if record is None else self.unpacked(record.__dict__[self.name])

    def __set__(self, record: Any, value: Any) -> None:
        record.__dict__[self.name] = self.packed(value)

    def packed(self, value: Any) -> Any:
        """Return what is kept."""
        return packed(value)

    def unpacked(self, kept: Any) -> Any:
        """Return what is handed out."""
        return unpacked(kept)


def packing(*names: str, **own: Packing) -> Callable[[type[Kind]], type[Kind]]:
    """Return a decorator of dataclasses that keeps fields packed; reading one unpacks it, so read it once.

    Parameters
    ----------
    names : str      Fields of arrays, and of records and mappings of arrays.
    own : Packing    Fields with a packing of their own.
    """
    def attach(kind: type[Kind]) -> type[Kind]:
        for name, packs in {**{name: Packing() for name in names}, **own}.items():
            packs.__set_name__(kind, name)
            setattr(kind, name, packs)
        return kind

    return attach


def _packed_array(values: Array) -> PackedArray:
    rows = values.shape[0]
    flat = np.ascontiguousarray(values).reshape(rows, -1)
    anything = flat.view(_BITS[flat.dtype.itemsize]) != 0
    if flat.shape[1] == 1 and anything.mean() <= _WORTH_SHARE:
        some = flat[anything[:, 0]]
        return PackedArray(values.shape, values.dtype, np.packbits(anything[:, 0]),
                           ((np.zeros(1, dtype=np.intp), some.astype(_narrowest(some[:, 0], anything[anything]))),))
    by_type: dict[np.dtype[Any], list[int]] = {}
    for column in np.flatnonzero(anything.any(axis=0)).tolist():
        by_type.setdefault(_narrowest(flat[:, column], anything[:, column]), []).append(column)
    groups = tuple((np.array(columns, dtype=np.intp), flat[:, columns].astype(kind))
                   for kind, columns in by_type.items())
    return PackedArray(values.shape, values.dtype, None, groups)


def _narrowest(column: NDArray[Any], anything: Bools) -> np.dtype[Any]:
    """Return the narrowest type that holds a column exactly; `anything`: entries with any bit set."""
    own = column.dtype
    if own.kind == "b" or not column.size:
        return own
    low, high = column.min(), column.max()
    if own.kind == "f":
        whole = bool(np.isfinite(low) and np.isfinite(high) and low >= -2.0**31 and high < 2.0**32
                     and (column == np.rint(column)).all() and not (anything & (column == 0.0)).any())
        if not whole:
            return np.dtype(np.float32) if _single(column) else own
    fitting = (kind for kind in _WHOLE if np.iinfo(kind).min <= low and high <= np.iinfo(kind).max
               and kind.itemsize < own.itemsize)
    return next(fitting, own)


def _single(column: Array) -> bool:
    """Tell whether single precision holds a column to the last bit."""
    with np.errstate(all="ignore"):
        again = column.astype(np.float32).astype(column.dtype)
    bits = _BITS[column.dtype.itemsize]
    return bool((again.view(bits) == np.ascontiguousarray(column).view(bits)).all())
