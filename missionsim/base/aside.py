"""Large arrays laid aside in a file: of what a long list needs memory holds no more than somebody has just looked at.

The system reads pages of the file as they are asked for, and `memory.let_go` hands them back. The file has no name any
more once it is written: its room is free again when the last of its arrays is gone, however the process ends. What is
laid aside cannot be written to.
"""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, Protocol, TypeVar

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.leftovers import hidden_folder, sweep
from missionsim.base.memory import give_back, pages_of

Record = TypeVar("Record")
LARGE = 2**16
"""Arrays of fewer bytes stay where they are."""
ALIGNED = 64
"""Arrays begin at multiples of this, as numpy's own do. [bytes]"""
_ASIDE = "aside"


class Keep(Protocol):
    """Tells where what is made stays; one way is `in_memory`, the other `laid_aside`."""

    def __call__(self, record: Record, /) -> Record:
        """Return the record as it stays."""
        ...


def in_memory(record: Record, /) -> Record:
    """Return the record itself."""
    return record


def laid_aside(record: Record, /) -> Record:
    """Return a record, or a list of them, with its large arrays laid aside; itself where no file can be written.

    Arrays and records that stand in it more than once still do; those that hold nothing large are the same objects.
    """
    found: dict[int, Array] = {}

    def find(array: Array) -> Array:
        if _can_lie(array):
            found[id(array)] = array
        return array

    _changed(record, find, {})
    try:
        lying = dict(zip(found, _written(list(found.values())), strict=True))
    except OSError:     # a disk without room: memory may have some
        return record
    give_back()
    changed: Record = _changed(record, lambda array: lying.get(id(array), array), {})
    return changed


def _can_lie(array: Array) -> bool:
    """Tell whether an array is large, and of a layout that a file keeps: sums over another one may round otherwise.

    One that cannot be written to lies aside already.
    """
    return array.nbytes >= LARGE and not array.dtype.hasobject and array.flags.writeable and (
        array.ndim == 1 or array.flags.c_contiguous or array.flags.f_contiguous)


def _written(arrays: Sequence[Array]) -> list[Array]:
    """Return the same arrays in the pages of a new file."""
    if not arrays:
        return []
    place, at = Path(tempfile.gettempdir()) / "missionsim", []
    sweep(place, {_ASIDE})
    with hidden_folder(place) as folder:
        file = folder / _ASIDE
        with file.open("wb") as stream:
            for array in arrays:
                stream.write(bytes(-stream.tell() % ALIGNED))
                at.append(stream.tell())
                stream.write(np.ascontiguousarray(array.T if _by_columns(array) else array).reshape(-1).data.cast("B"))
        pages = pages_of(file)
    return [_lying(pages, array, start) for array, start in zip(arrays, at, strict=True)]


def _lying(pages: mmap.mmap, array: Array, start: int) -> Array:
    flat = np.frombuffer(pages, array.dtype, array.size, start)
    return flat.reshape(array.shape[::-1]).T if _by_columns(array) else flat.reshape(array.shape)


def _by_columns(array: Array) -> bool:
    return array.ndim > 1 and not array.flags.c_contiguous


def _changed(value: Any, change: Callable[[Array], Array], known: dict[int, tuple[Any, Any]]) -> Any:
    """Return a value with its arrays changed, through records, tuples, lists and tables.

    `known`: by identity of what was met before, with the thing itself so that it lives on.
    """
    if id(value) not in known:
        known[id(value)] = value, _changed_once(value, change, known)
    return known[id(value)][1]


def _changed_once(value: Any, change: Callable[[Array], Array], known: dict[int, tuple[Any, Any]]) -> Any:
    if isinstance(value, np.ndarray):
        return change(value)
    if is_dataclass(value) and not isinstance(value, type):
        old = {f.name: getattr(value, f.name) for f in fields(value) if f.init}
        new = {name: _changed(part, change, known) for name, part in old.items()}
        some = {name: part for name, part in new.items() if part is not old[name]}
        return replace(value, **some) if some else value
    if isinstance(value, dict):
        parts = {key: _changed(part, change, known) for key, part in value.items()}
        return parts if any(part is not value[key] for key, part in parts.items()) else value
    if type(value) in (tuple, list):
        every = [_changed(part, change, known) for part in value]
        return type(value)(every) if any(a is not b for a, b in zip(every, value, strict=True)) else value
    return value
