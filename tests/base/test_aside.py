"""What is laid aside is what it was: values, layout, what stands in it twice; and its file leaves nothing behind."""

from __future__ import annotations

import gc
import tempfile
from dataclasses import dataclass

import numpy as np
import pytest

from missionsim.base import memory
from missionsim.base.arrays import Array
from missionsim.base.aside import LARGE, in_memory, laid_aside
from missionsim.base.memory import let_go


@dataclass(frozen=True, slots=True)
class Inner:
    values: Array
    word: str


@dataclass(frozen=True)
class Outer:
    inner: Inner
    again: Inner
    table: dict
    several: tuple
    small: Inner


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


@pytest.fixture
def record():
    numbers = np.random.default_rng(1)
    inner = Inner(numbers.random(LARGE // 8), "one")
    by_columns = np.asfortranarray(numbers.random((90, LARGE // 8 // 60)))
    return Outer(inner, inner, {"a": by_columns, "b": np.arange(3)},
                 (numbers.integers(9, size=(LARGE, 2))[:, 0], inner.values), Inner(np.ones(4), "small"))


def test_values_and_layout_stay(record):
    made = laid_aside(record)
    for old, new in ((record.inner.values, made.inner.values), (record.table["a"], made.table["a"]),
                     (record.several[0], made.several[0])):
        assert new is not old
        assert new.dtype == old.dtype
        np.testing.assert_array_equal(new, old)
        assert not new.flags.writeable
    assert made.table["a"].flags.f_contiguous, "a sum goes along the other axis"
    assert not made.table["a"].flags.c_contiguous
    assert (made.inner.word, type(made.several)) == ("one", tuple)


def test_what_stands_twice_still_does_and_what_is_small_is_the_same_thing(record):
    made = laid_aside(record)
    assert made.inner is made.again
    assert made.several[1] is made.inner.values
    assert made.small is record.small
    assert made.table["b"] is record.table["b"]
    assert laid_aside(record.small) is record.small
    assert laid_aside(made) is made
    assert in_memory(record) is record


def test_an_array_just_large_enough_is_laid_aside_and_one_byte_less_is_not():
    for size, lies in ((LARGE, True), (LARGE - 1, False)):
        values = np.zeros(size, dtype=np.uint8)
        assert (laid_aside([values])[0] is not values) == lies


def test_layouts_a_file_does_not_keep_and_objects_stay_in_memory():
    mixed = np.zeros((4, LARGE, 2))[:, :, 0]
    names = np.full(LARGE, "name", dtype=object)
    found = laid_aside([mixed, names])
    assert found[0] is mixed
    assert found[1] is names


def test_pages_handed_back_are_read_again(record):
    made = laid_aside(record)
    let_go()
    np.testing.assert_array_equal(made.inner.values, record.inner.values)
    assert made.inner.values.sum() == record.inner.values.sum()


def test_no_file_stays_behind_and_pages_end_with_the_arrays(record, folder):
    before = len(memory._files)
    made = laid_aside(record)
    assert list(folder.iterdir()) == []
    assert len(memory._files) == before + 1
    del made
    gc.collect()
    assert len(memory._files) == before


def test_without_room_for_a_file_all_stays_in_memory(record, folder, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(folder / "nowhere"))
    assert laid_aside(record) is record
