from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from flight_cases import LEVELS_FT, air, limits, only, table
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.words import BIT, Reason
from missionsim.flight.batch import AirOnRoutes, PackedAir, Plans, plan_cells, plan_rows

DISTANCES = (60.0, 150.0, 320.0)
TABLE = table(DISTANCES)
NONE = np.zeros(len(DISTANCES))


def planned(head_kt, **more):
    given_air = air(np.full(len(DISTANCES), head_kt), **more)
    return plan_rows(TABLE, given_air, limits(len(DISTANCES)), NONE)


@given(slow=st.floats(-60, 60), extra=st.floats(0.5, 40), level=st.integers(0, 3))
def test_more_headwind_never_arrives_sooner_at_a_fixed_level(slow, extra, level):
    one = only(level, len(DISTANCES))
    less = plan_rows(TABLE, air(np.full(len(DISTANCES), slow)), one, NONE)
    more = plan_rows(TABLE, air(np.full(len(DISTANCES), slow + extra)), one, NONE)
    both = (less.reasons == 0) & (more.reasons == 0)
    assert (more.flight_h[both] > less.flight_h[both]).all()
    assert (more.fuel_gal[both] > less.fuel_gal[both]).all()


@given(wind=st.floats(5, 60))
def test_there_and_back_in_a_wind_takes_longer_than_in_calm_air(wind):
    one = only(2, len(DISTANCES))
    calm, out, back = (plan_rows(TABLE, air(np.full(len(DISTANCES), w)), one, NONE) for w in (0.0, wind, -wind))
    fine = (out.reasons == 0) & (back.reasons == 0)
    assert (out.flight_h[fine] + back.flight_h[fine] > 2.0 * calm.flight_h[fine]).all()


@given(cross=st.floats(1, 60))
def test_a_crosswind_costs_time_from_either_side(cross):
    calm, left, right = (planned(0.0, cross_kt=c) for c in (0.0, cross, -cross))
    np.testing.assert_array_equal(left.flight_h, right.flight_h)
    fine = left.reasons == 0
    assert (left.flight_h[fine] > calm.flight_h[fine]).all()


@given(heavy=st.floats(20, 250))
def test_more_weight_climbs_longer_and_never_arrives_sooner(heavy):
    one = only(3, len(DISTANCES))
    calm = air(np.zeros(len(DISTANCES)))
    light, full = (plan_rows(TABLE, calm, one, np.full(len(DISTANCES), w)) for w in (-heavy, 0.0))
    both = (light.reasons == 0) & (full.reasons == 0)
    assert (full.flight_h[both] >= light.flight_h[both]).all()


def test_the_best_level_is_the_quickest_of_those_planned_alone():
    whole = planned(12.0)
    alone = np.stack([np.where(p.reasons == 0, p.flight_h, np.inf)[:, 0] for p in (
        plan_rows(TABLE, air(np.full(len(DISTANCES), 12.0)), only(k, len(DISTANCES)), NONE) for k in range(4))])
    np.testing.assert_allclose(whole.flight_h[:, 0], alone.min(axis=0))
    np.testing.assert_array_equal(whole.level_ft[:, 0], LEVELS_FT[alone.argmin(axis=0)])


def test_a_batch_of_one_equals_a_batch_of_many_bit_by_bit(rng):
    n, slots = 40, 5
    long = table(rng.uniform(30, 500, n))
    wind = AirOnRoutes(*(rng.normal(0, s, (n, slots, 4)).astype(np.float32) for s in (25, 15, 6)),
                       *(rng.normal(0, 10, (n, slots)).astype(np.float32) for _ in range(2)))
    off_lb = rng.normal(0, 80, n)
    many = plan_rows(long, wind, limits(n), off_lb)
    for r in (0, 7, 39):
        one = plan_rows(table_row(long, r), wind.mapped(lambda values, r=r: values[r:r + 1]),
                        limits(1), off_lb[r:r + 1])
        for part in fields(Plans):
            np.testing.assert_array_equal(getattr(one, part.name)[0], getattr(many, part.name)[r])


def table_row(whole, r):
    def cut(values):
        return values[r:r + 1] if isinstance(values, np.ndarray) else values

    inner = replace(whole.rows, **{f.name: cut(getattr(whole.rows, f.name)) for f in fields(whole.rows)})
    rest = {f.name: cut(getattr(whole, f.name)) for f in fields(whole) if f.name not in {"rows", "coefficient"}}
    return replace(whole, rows=inner, coefficient={k: v[:, r:r + 1] for k, v in whole.coefficient.items()}, **rest)


def test_chosen_cells_are_planned_as_the_whole_grid_is(rng, monkeypatch):
    n, slots = 12, 4
    grid = table(rng.uniform(30, 500, n))
    wind = AirOnRoutes(*(rng.normal(0, s, (n, slots, 4)).astype(np.float32) for s in (30, 15, 6)),
                       *(rng.normal(0, 10, (n, slots)).astype(np.float32) for _ in range(2)))
    blocked = rng.random((n, slots, 4)) < 0.3
    whole = plan_rows(grid, wind, limits(n), np.zeros(n), 0.0, blocked)
    row, slot = np.nonzero(rng.random((n, slots)) < 0.5)
    some = plan_cells(grid, row, wind.mapped(lambda values: values[row, slot]), limits(n),
                      np.zeros(n), 0.0, blocked[row, slot])
    monkeypatch.setattr("missionsim.flight.batch.MANY_CELLS", 5)     # a few at a time
    assert len(row) > 3 * 5
    few = plan_cells(grid, row, wind.mapped(lambda values: values[row, slot]), limits(n),
                     np.zeros(n), 0.0, blocked[row, slot])
    for part in fields(Plans):
        np.testing.assert_array_equal(getattr(some, part.name), getattr(whole, part.name)[row, slot])
        np.testing.assert_array_equal(getattr(few, part.name), getattr(some, part.name))


@pytest.mark.parametrize(("change", "reason"), [
    ({"clears_terrain": np.zeros((3, 4), dtype=bool)}, Reason.TERRAIN),
    ({"oxygen": np.zeros((3, 4), dtype=bool)}, Reason.OXYGEN),
    ({"least_climb_fpm": np.full(3, 5000.0, dtype=np.float32)}, Reason.CLIMB),
])
def test_what_is_in_the_way_is_named(change, reason):
    plans = plan_rows(TABLE, air(np.zeros(3)), replace(limits(3), **change), NONE)
    assert (plans.reasons == BIT[reason]).all()


def test_a_wind_that_stops_the_aircraft_is_a_matter_of_range():
    assert (planned(400.0).reasons == BIT[Reason.RANGE]).all()


def test_closed_levels_give_the_reason_they_are_closed_for():
    blocked = np.ones((3, 1, 4), dtype=bool)
    plans = plan_rows(TABLE, air(np.zeros(3)), limits(3), NONE, 0.0, blocked)
    assert (plans.reasons == BIT[Reason.ICING]).all()


def test_planning_by_cost_burns_no_more_than_planning_by_time():
    quick = planned(-25.0)
    thrifty = plan_rows(TABLE, air(np.full(3, -25.0)), limits(3), NONE, fuel_weight_h_per_gal=0.5)
    assert (thrifty.fuel_gal <= quick.fuel_gal + 1e-5).all()
    assert (thrifty.flight_h >= quick.flight_h - 1e-6).all()


def test_the_lowest_level_nearly_as_quick_as_the_best_is_flown():
    # In calm air each level takes its own time: with a spare that just holds the lower one, it is flown instead.
    count = len(DISTANCES)
    alone = np.stack([np.where(p.reasons == 0, p.flight_h, np.inf)[:, 0] for p in (
        plan_rows(TABLE, air(np.zeros(count)), only(k, count), NONE) for k in range(len(LEVELS_FT)))])
    for spare in (0.0, 0.01, 0.05):
        found = plan_rows(TABLE, air(np.zeros(count)), replace(limits(count), spare_share=spare), NONE)
        good = alone <= alone.min(axis=0) * (1.0 + spare)
        np.testing.assert_array_equal(found.level_ft[:, 0], LEVELS_FT[good.argmax(axis=0)])


def test_packed_air_is_that_of_its_cells_and_calm_elsewhere():
    kept = np.array([[5.0], [7.0], [0.0]])
    packed = PackedAir(AirOnRoutes(kept, kept + 1.0, kept + 2.0, kept[:, 0], kept[:, 0]),
                       np.array([[2, 0], [1, 2]], np.int32))
    found = packed.at(np.array([1, 0, 0]), np.array([0, 1, 0]))
    assert found.headwind_kt[:, 0].tolist() == [7.0, 5.0, 0.0]
    assert found.isa_deviation_c[:, 0].tolist() == [9.0, 7.0, 2.0]
    assert packed.whole().low_headwind_kt.tolist() == [[0.0, 5.0], [7.0, 0.0]]
    np.testing.assert_array_equal(packed.whole().at(np.array([1]), np.array([0])).crosswind_kt, [[8.0]])
