"""Arrays kept packed come back as they were, to the last bit, and take what their values need."""

from __future__ import annotations

from dataclasses import dataclass

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base import packed as module
from missionsim.base.arrays import Array
from missionsim.base.packed import PackedArray, packed, packing, unpacked

KINDS = st.sampled_from(["f8", "f4", "i8", "i4", "i1", "u1", "?"])


@pytest.fixture(autouse=True)
def _nothing_is_small(monkeypatch):
    monkeypatch.setattr(module, "SMALL_BYTES", 1)


def same(a, b):
    return a.dtype == b.dtype and a.shape == b.shape and a.tobytes() == b.tobytes()


@given(KINDS.flatmap(lambda kind: arrays.arrays(kind, arrays.array_shapes(min_dims=1, max_dims=3, max_side=7))))
def test_every_bit_comes_back(array):
    assert same(unpacked(packed(array)), array)


@pytest.mark.parametrize("values", [
    [0.0, -0.0, 0.0, 1.0], [np.nan, 0.0, 0.0, 0.0], [1e300, 0.0, 1.0, 2.0], [0.1, 0.0, 0.0, 0.0],
    [2.0**31, 0.0, -1.0, 5.0], [np.inf, 0.0, 0.0, 3.0], [float(np.float32(0.1)), 0.0, 7.0, 0.0],
    [5e-324, 0.0, 0.0, 0.0]])
def test_what_looks_like_zero_or_whole_and_is_not_comes_back(values):
    for shape in ((4,), (2, 2), (4, 1)):
        array = np.array(values).reshape(shape)
        assert same(unpacked(packed(array)), array)


def taken(kept):
    assert isinstance(kept, PackedArray)
    return sum(values.nbytes for _, values in kept.groups) + (0 if kept.there is None else kept.there.nbytes)


def test_values_take_what_they_need():
    counts = np.tile([3.0, 0.0, 250.0, 1.5, 1.0 / 3.0], (100, 1))
    assert taken(packed(counts)) == 100 * (1 + 0 + 1 + 4 + 8)
    rare = np.zeros(800)
    rare[::8] = 70_000.0  # one bit each, and the hundred there are as 32-bit numbers
    assert taken(packed(rare)) == 800 // 8 + 100 * 4


def test_a_field_is_handed_out_as_it_was_and_kept_packed():
    @packing("table", "more")
    @dataclass(frozen=True)
    class Record:
        name: str
        table: Array
        more: dict[str, Array] | None

    table = np.arange(20.0).reshape(5, 4)
    record = Record("x", table, {"a": table})
    assert isinstance(record.__dict__["_table"], PackedArray)
    assert same(record.table, table)
    assert same(record.more["a"], table)
    assert Record("y", table, None).more is None
