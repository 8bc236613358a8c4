"""Packed rows and hours against arrays with a place for every row and hour."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from year_cases import schedule_of

from missionsim.decide.candidate_plan import RowIndex
from missionsim.decide.cells import AirCells, first_alike
from missionsim.year.looked_slots import AIR_SLOTS, LookedSlots

LEGS, ROWS_OF_OPTIONS, LEG_OF_OPTION = 4, (1, 2, 1, 3, 1, 1, 2), (0, 0, 1, 1, 1, 2, 3)
OPTION = np.repeat(np.arange(len(ROWS_OF_OPTIONS)), ROWS_OF_OPTIONS)
LEG = np.array(LEG_OF_OPTION)[OPTION]
APART = np.arange(len(LEG))
SHARED = np.array([0, 1, 0, 3, 4, 5, 4, 5, 8, 9, 10])
"""Three flights that an itinerary before has too: one of leg 0, two of leg 1."""


@pytest.fixture
def trips(rng):
    """Four legs of which hours here and there are looked at, the planned one among them."""
    made = replace(schedule_of([(100.0, 0, 1), (105.0, 1, 0)], [(300.0, 0, 1), (330.0, 1, 0)]), slots=36,
                   planned_slot=rng.permutation([3, 4, 8, 14]))
    looked_at = rng.random((LEGS, made.slots)) < rng.uniform(0.1, 0.6, (LEGS, 1))
    looked_at[np.arange(LEGS), made.planned_slot] = True
    made.__dict__["looks"] = LookedSlots.of(looked_at)
    return made


@pytest.fixture(params=[APART, SHARED], ids=["apart", "shared"])
def cells(request, trips):
    return AirCells.of(LEG, OPTION, trips, request.param)


def test_every_row_has_a_cell_for_each_block_looked_at_and_no_other(trips, cells):
    looked = trips.looks.open_.reshape(LEGS, -1, AIR_SLOTS).any(axis=2)
    assert cells.spread(np.ones(len(cells.row), dtype=bool), len(LEG)).tolist() == looked[LEG].tolist()
    row, block = np.nonzero(looked[LEG])
    found = cells.cell_of(LEG[row], row, AIR_SLOTS * block + 1)
    assert (cells.row[found] == cells.same[row]).all()
    assert len(cells.row) == looked[LEG].sum(axis=1)[cells.same == APART].sum()
    assert (cells.slot[found] == trips.looks.block[LEG[row], block]).all()


def test_values_of_legs_are_those_of_their_rows_and_come_back_the_same(trips, cells, rng):
    values = np.where(trips.looks.open_, rng.random(trips.looks.open_.shape), 0.0)
    by_hour = trips.looks.hours.of_columns(values)
    assert (trips.looks.hours.columns(by_hour) == values).all()
    assert (cells.hours(cells.of_hours(by_hour)) == values[LEG]).all()
    assert (cells.legs.of_hours(by_hour) == cells.legs.of_legs(values)).all()
    assert (cells.legs.columns(cells.legs.of_legs(values)) == values).all()
    whole = cells.legs.spread(cells.legs.of_legs(values), -1.0)
    assert (whole == trips.looks.spread(values, -1.0)).all()


def test_neighbours_are_the_flights_of_an_itinerary_and_the_itineraries_of_a_leg(trips, cells, rng):
    bits = rng.integers(0, 2**16, (AIR_SLOTS, len(cells.row))).astype(np.uint32)
    by_row, legs = cells.hours(bits), cells.legs
    by_option = np.bitwise_or.reduceat(by_row, np.searchsorted(OPTION, np.arange(len(ROWS_OF_OPTIONS))), axis=0)
    choice = legs.of_flights(np.bitwise_or, bits)
    best = np.minimum.reduceat(choice, legs.first, axis=1)
    found, open_ = legs.columns(best), trips.looks.open_
    for leg in range(LEGS):
        least = by_option[np.array(LEG_OF_OPTION) == leg].min(axis=0)
        assert (found[leg, open_[leg]] == least[open_[leg]]).all()
    assert (legs.option[legs.first] == np.searchsorted(LEG_OF_OPTION, legs.leg)).all()


def test_the_planned_hour_is_found_of_rows_and_of_legs(trips, cells, rng):
    values = rng.random(trips.looks.open_.shape)
    planned = values[trips.planned_column]
    by_hour = trips.looks.hours.of_columns(values)
    assert (cells.of_hours(by_hour).take(cells.planned) == planned[LEG]).all()
    assert (cells.legs.of_hours(by_hour).take(cells.legs.planned) == planned).all()
    assert (by_hour.take(trips.looks.hours.place(*trips.planned_column)) == planned).all()


def test_where_nothing_flies_a_leg_its_hours_are_left_out(trips, rng):
    some = LEG != 1
    cells, values = AirCells.of(LEG[some], OPTION[some], trips), rng.random(trips.looks.open_.shape)
    by_hour = trips.looks.hours.of_columns(values)
    assert (cells.legs.of_hours(by_hour) == cells.legs.of_legs(values)).all()
    assert len(cells.legs.leg) < len(trips.looks.hours.leg)
    inside = trips.looks.open_[LEG[some]]
    assert (cells.hours(cells.of_hours(by_hour))[inside] == values[LEG[some]][inside]).all()


def test_itineraries_with_flights_in_common_are_as_if_each_had_its_own(trips, rng):
    apart, shared = AirCells.of(LEG, OPTION, trips), AirCells.of(LEG, OPTION, trips, SHARED)
    hours = rng.random(len(shared.row))
    of_rows = shared.spread(hours, len(LEG)).reshape(-1)[apart.at]
    assert (shared.legs.of_flights(np.add, hours) == apart.legs.of_flights(np.add, of_rows)).all()
    assert (of_rows[apart.row == 2] == of_rows[apart.row == 0]).all()


def test_the_first_of_those_that_are_alike_stands_for_all(rng):
    keys = rng.integers(0, 3, (3, 60))
    found = first_alike(*keys)
    for i, first in enumerate(found):
        assert first == min(j for j in range(60) if (keys[:, j] == keys[:, i]).all())


def test_a_flight_is_the_same_by_its_lane_its_leg_and_the_hours_since_departure():
    """Straight and by a second way over two stops, of which one flight alone differs; then another leg of the same."""
    none = np.zeros(7, dtype=np.int64)
    rows = RowIndex(option=np.array([0, 0, 1, 1, 1, 2, 2]), leg=np.array([0, 0, 0, 0, 0, 1, 1]), trip=none,
                    lane=np.array([4, 5, 4, 6, 5, 4, 5]), from_place=none, to_place=none,
                    offset_h=np.array([0.0, 2.0, 0.0, 2.0, 3.0, 0.0, 2.0]), comfort_h=none, people=none, way=none)
    assert rows.same_flight().tolist() == [0, 1, 0, 3, 4, 5, 6]


def test_cells_of_a_very_long_list_are_found_too(cells):
    """Block 60,000 and row 3 of 50,000 stand at 3,000,000,003 in the order of cells, which four bytes do not hold."""
    rows = 50_000
    long = replace(cells, planned=np.zeros(rows, dtype=np.int64), same=np.arange(rows), block=np.array([0, 60_000]),
                   row=np.array([0, 3]), looked=replace(cells.looked, number=np.array([[0, 60_000]], dtype=np.int32)))
    assert long.cell_of(np.array([0, 0]), np.array([0, 3]), np.array([0, AIR_SLOTS])).tolist() == [0, 1]


def test_flights_are_added_up_to_the_same_bits_as_from_choice_to_choice(trips, rng):
    """Four flights: what follows the first is summed first, as `reduceat` does."""
    leg, option = np.zeros(8, dtype=np.int64), np.array([0, 1, 1, 2, 3, 3, 3, 3])
    cells = AirCells.of(leg, option, trips)
    hours = rng.random((2, len(cells.row)))
    begins = np.flatnonzero(np.diff(option[cells.row], prepend=-1) != 0)
    assert len(begins) == len(cells.legs.option)
    assert (cells.legs.of_flights(np.add, hours) == np.add.reduceat(hours, begins, axis=1)).all()


@pytest.mark.parametrize("left_out", [None, 1])
def test_some_blocks_are_as_those_of_all_there(trips, rng, left_out):
    """Every value at the blocks that stay is that of all; also where a leg has no blocks to begin with."""
    there = np.ones(len(LEG), dtype=bool) if left_out is None else left_out != LEG
    cells = AirCells.of(LEG[there], OPTION[there], trips, first_alike(SHARED[there]))
    looked = trips.looks.hours
    wanted = rng.random(len(looked.leg)) < 0.6
    some, kept = cells.of_some(wanted), np.flatnonzero(wanted.take(cells.block))
    for name in ("row", "slot", "leg", "at", "block"):
        assert (getattr(some, name) == getattr(cells, name)[kept]).all()
    blocks, fewer = cells.legs, some.legs
    of_looked = np.searchsorted(looked.at, blocks.at)
    block = np.flatnonzero(wanted[of_looked])
    choice = np.flatnonzero(wanted[of_looked][blocks.block])
    values, hours = rng.random((AIR_SLOTS, len(looked.leg))), rng.random((AIR_SLOTS, len(cells.row)))
    assert (some.of_hours(values) == cells.of_hours(values)[:, kept]).all()
    assert (fewer.of_hours(values) == blocks.of_hours(values)[:, block]).all()
    assert (fewer.of_flights(np.add, hours[:, kept]) == blocks.of_flights(np.add, hours)[:, choice]).all()
    assert (fewer.option == blocks.option[choice]).all()
    assert (block[fewer.block] == blocks.block[choice]).all()
    assert (fewer.first == np.flatnonzero(np.diff(fewer.block, prepend=-1))).all()
    assert (fewer.leg[fewer.leg_first] == fewer.legs).all()
    assert fewer.legs.tolist() == sorted(set(fewer.leg.tolist()))
    whole, at = blocks.spread(blocks.of_hours(values), -1.0), fewer.spread(fewer.of_hours(values), -1.0)
    inside = np.zeros(whole.shape, dtype=bool)
    for leg, air in zip(blocks.leg[block], looked.air[of_looked[block]], strict=True):
        inside[leg, AIR_SLOTS * air:AIR_SLOTS * (air + 1)] = True
    assert (at == np.where(inside, whole, -1.0)).all()


def test_of_some_blocks_planned_hours_are_found_where_theirs_stay(trips, cells, rng):
    looked = trips.looks.hours
    planned = looked.number[np.arange(LEGS), trips.planned_column[1] // AIR_SLOTS]
    wanted = rng.random(len(looked.leg)) < 0.5
    wanted[planned[:2]], wanted[planned[2:]] = True, False
    some, values = cells.of_some(wanted), rng.random(trips.looks.open_.shape)
    by_hour, expected = looked.of_columns(values), values[trips.planned_column]
    assert (some.legs.of_hours(by_hour).take(some.legs.planned)[:2] == expected[:2]).all()
    rows = np.flatnonzero(LEG < 2)
    assert (some.of_hours(by_hour).take(some.planned)[rows] == expected[LEG[rows]]).all()
    staying = wanted[some.looked.number[LEG[rows], 0]]
    found = some.cell_of(LEG[rows][staying], rows[staying], np.zeros(np.count_nonzero(staying), dtype=np.int64))
    assert (some.row[found] == some.same[rows[staying]]).all()
