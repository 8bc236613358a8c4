"""Slots that somebody may come to are packed into columns, in blocks that share the winds aloft."""

from __future__ import annotations

import numpy as np

from missionsim.year.looked_slots import LookedSlots


def looked(*slots_of_legs, slots=12):
    out = np.zeros((len(slots_of_legs), slots), dtype=bool)
    for leg, there in enumerate(slots_of_legs):
        out[leg, list(there)] = True
    return out


def test_only_blocks_that_are_looked_at_have_columns():
    # Slots 1 and 2 lie in the first block of three, 9 and 10 in the fourth; the second leg uses one block.
    found = LookedSlots.of(looked([1, 2, 9, 10], [4]))
    assert found.block[0].tolist() == [0, 3]
    assert found.slot[0].tolist() == [0, 1, 2, 9, 10, 11]
    assert found.open_[0].tolist() == [False, True, True, True, True, False]
    assert found.column[0].tolist() == [-1, 1, 2, -1, -1, -1, -1, -1, -1, 3, 4, -1]
    assert found.block[1, 0] == 1
    assert found.open_[1].tolist() == [False, True, False, False, False, False]
    assert found.air.tolist() == [[True, False, False, True], [False, True, False, False]]


def test_what_is_spread_stands_at_its_slot_and_the_rest_is_filled():
    found = LookedSlots.of(looked([1, 2, 9, 10], [4]))
    values = np.arange(12).reshape(2, 6)
    assert found.spread(values, -7).tolist() == [[-7, 1, 2, -7, -7, -7, -7, -7, -7, 3, 4, -7],
                                                 [-7, -7, -7, -7, 7, -7, -7, -7, -7, -7, -7, -7]]


def test_a_part_of_a_schedule_keeps_the_columns_of_the_whole():
    assert LookedSlots.of(looked([4])).columns == 3
    assert LookedSlots.of(looked([4]), least_blocks=2).columns == 6
