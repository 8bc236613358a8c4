"""The air of lanes lies on the line between the levels of the grid; where nobody starts it is calm."""

from __future__ import annotations

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.prepare import lanes as lane_module
from missionsim.study.prepare.lanes import LEVEL_GRID_FT, LaneSet, air_of
from missionsim.study.prepare.study import prepare
from missionsim.world.winds.simulated import WindYear

GRID = np.array(LEVEL_GRID_FT, dtype=float)
LEVELS_FT = np.array([[3000.0, 6000.0, 11500.0], [5000.0, 24000.0, 24000.0]])
STANDARD_C = np.array([[9.0, 3.0, -8.0], [5.0, -32.5, -32.5]], dtype=np.float32)
FIRST_ROUTE = 4


class StraightAir:
    """Winds and temperature straight in level, of a slope by route and a start by hour."""

    def at(self, route_index, time_h):
        """Return headwind, crosswind and temperature."""
        start, slope = np.asarray(time_h)[:, None], route_index[:, None] / 1000.0
        head = start + slope * GRID
        return tuple(part.astype(np.float32) for part in (head, -2.0 * head, 15.0 + head))


@pytest.fixture
def lanes():
    below = np.clip(np.searchsorted(GRID, LEVELS_FT, side="right") - 1, 0, len(GRID) - 2)
    share = ((LEVELS_FT - GRID[below]) / (GRID[below + 1] - GRID[below])).astype(np.float32)
    used = np.array([[True, False, True], [False, False, True]])
    return LaneSet((), np.array([0, 2]), np.array([10.0, 20.0]), used, LEVELS_FT, below, share, STANDARD_C,
                   np.array([1, 3]), FIRST_ROUTE)


@pytest.mark.parametrize("many", [2, 50_000])
def test_levels_between_those_of_the_grid_are_on_the_line(lanes, many, monkeypatch):
    monkeypatch.setattr(lane_module, "MANY_CELLS", many)
    air = lanes.air(StraightAir())
    for lane, slot, hour in ((0, 0, 11.5), (0, 2, 17.5), (1, 2, 27.5)):
        head = hour + (FIRST_ROUTE + (0, 2)[lane]) / 1000.0 * LEVELS_FT[lane]
        here = air.at(np.array([lane]), np.array([slot]))
        np.testing.assert_allclose(here.headwind_kt[0], head, rtol=1e-6)
        np.testing.assert_allclose(here.crosswind_kt[0], -2.0 * head, rtol=1e-6)
        np.testing.assert_allclose(here.isa_deviation_c[0], 15.0 + head - STANDARD_C[lane], rtol=1e-6)
        low = hour + (FIRST_ROUTE + (0, 2)[lane]) / 1000.0 * GRID[(1, 3)[lane]]
        assert here.low_headwind_kt[0] == pytest.approx(low, rel=1e-6)
        assert here.low_crosswind_kt[0] == pytest.approx(-2.0 * low, rel=1e-6)


def test_where_no_flight_starts_the_air_is_calm_and_standard(lanes):
    here = lanes.air(StraightAir()).at(np.array([0, 1]), np.array([1, 0]))
    for part in (here.headwind_kt, here.crosswind_kt, here.isa_deviation_c, here.low_headwind_kt,
                 here.low_crosswind_kt):
        assert (part == 0.0).all()


def test_the_air_of_very_many_hours_is_read_a_few_at_a_time_to_the_same_bits(monkeypatch):
    prepared = prepare(small_study(trips=6))
    winds = WindYear.simulate(prepared.route_air, 5, 0)
    whole = [lanes.air(winds) for lanes in prepared.lane_sets]
    monkeypatch.setattr(lane_module, "MANY_CELLS", 7)
    for lanes, once in zip(prepared.lane_sets, whole, strict=True):
        assert len(once.air.headwind_kt) > 3 * 7
        same_air(lanes.air(winds), once)


def same_air(found, once):
    """Hold one air against another, to the bit."""
    assert np.array_equal(found.cell, once.cell)
    for name in ("headwind_kt", "crosswind_kt", "isa_deviation_c", "low_headwind_kt", "low_crosswind_kt"):
        assert np.array_equal(getattr(found.air, name), getattr(once.air, name))


@pytest.mark.parametrize("many", [7, 50_000])
def test_the_air_of_all_lanes_together_has_the_bits_of_whole_years(monkeypatch, many):
    prepared = prepare(small_study(trips=6))
    winds = WindYear.simulate(prepared.route_air, 5, 3)
    whole = [lanes.air(winds) for lanes in prepared.lane_sets]
    monkeypatch.setattr(lane_module, "MANY_CELLS", many)
    twice = (*prepared.lane_sets, *prepared.lane_sets)      # hours that two of them have in common are read once
    for _ in range(2):
        for found, once in zip(air_of(twice, prepared.route_air, 5, 3), [*whole, *whole], strict=True):
            same_air(found, once)
    for found, once in zip(air_of(prepared.lane_sets, prepared.route_air, 5, 3), whole, strict=True):
        same_air(found, once)
