"""Weights, balance, ridges and runways of a leg by hand, where a small slip would go unnoticed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from decide_cases import BURN_GAL, FIELD_FT, FLIGHT_H, FUEL, TAXI_H, TRIPS, Plain, decided, no_fields, plan, still
from year_cases import SLOTS

from missionsim.base.words import BIT, Reason
from missionsim.decide.candidate_plan import Directions, FieldRows, RunwayRows
from missionsim.decide.cells import AirCells
from missionsim.decide.decide import _option_times, decide
from missionsim.decide.enroute_weather import ridge_bits
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.flight.stops import FORCED_H

INSIDE = np.arange(SLOTS) <= TRIPS.last_slot[0]
DRY_LB, RESERVE_LB = 2200.0, 60.0
"""Two people of 200 lb in the plain aircraft; an hour at 10 gal/h, 6 lb a gallon."""


@pytest.mark.parametrize(("more_lb", "refused"), [(1.0, False), (-1.0, True)])
def test_on_landing_only_the_reserve_is_left_and_the_approach_is_burned(more_lb, refused):
    class Limited(Plain):
        max_landing_lb = DRY_LB + RESERVE_LB + more_lb

    decisions, _ = decided(plan(aircraft=Limited()))
    assert bool((decisions.reasons[:, INSIDE] & BIT[Reason.PAYLOAD]).all()) is refused
    assert bool(decisions.structural.any()) is refused


def test_a_detour_round_storms_takes_its_share_of_fuel_and_hours():
    weather = LegWeather.fair(TRIPS)
    weather = replace(weather, detour_share=np.full(weather.detour_share.shape, 0.1))
    made = plan()
    air = made.cells.air(still(), made.rows.lane)
    loads = made.aircraft.loads(np.full((2, 2), 200.0), np.zeros(2))
    decisions, rows = decide(made, TRIPS, air, FixedSky(np.full(2, FIELD_FT)), weather, loads)
    way_gal = BURN_GAL - FUEL.taxi_gal - FUEL.approach_gal
    np.testing.assert_allclose(made.cells.hours(rows.required_gal)[:, 1], BURN_GAL + 0.1 * way_gal + 10.0, rtol=1e-6)
    np.testing.assert_allclose(decisions.flight_h[:, TRIPS.planned_slot[0]], 1.1 * FLIGHT_H, rtol=1e-6)


def test_fuel_for_an_alternate_is_on_board_from_the_start():
    weather = LegWeather.fair(TRIPS)
    weather = replace(weather, alternate_gal=np.full(weather.alternate_gal.shape, 4.0))
    made = plan()
    loads = made.aircraft.loads(np.full((2, 2), 200.0), np.zeros(2))
    _, rows = decide(made, TRIPS, made.cells.air(still(), made.rows.lane), FixedSky(np.full(2, FIELD_FT)), weather,
                     loads)
    np.testing.assert_allclose(made.cells.hours(rows.required_gal)[:, 1], BURN_GAL + 10.0 + 4.0, rtol=1e-6)


def test_a_flight_of_less_than_sixty_miles_to_a_stop_counts_against_it():
    # Over a stop 50 nm before the end, and over one half way; nothing else is uncomfortable.
    made = plan()
    leg, option = np.zeros(4, dtype=int), np.array([0, 0, 1, 1])
    rows = replace(made.rows, comfort_h=np.full(4, 9.0), leg=leg, option=option)
    table = replace(made.table, rows=replace(made.table.rows, distance_nm=np.array([190.0, 50.0, 120.0, 120.0])))
    made = replace(made, rows=rows, table=table, options=replace(made.options, first_row=np.array([0, 2, 4])),
                   cells=AirCells.of(leg, option, TRIPS))
    plans = decided()[1].plans
    assert _option_times(made, plans).discomfort_h[:2].tolist() == [FORCED_H, 0.0]


def test_a_gallon_counts_as_so_many_hours_where_the_study_wants_it_cheap():
    plans, way_gal = decided()[1].plans, BURN_GAL - FUEL.taxi_gal - FUEL.approach_gal
    for price_h_per_gal in (0.0, 0.1):
        times = _option_times(plan(fuel=replace(FUEL, price_h_per_gal=price_h_per_gal)), plans)
        np.testing.assert_allclose(times.block_h, FLIGHT_H + TAXI_H, rtol=1e-6)
        np.testing.assert_allclose(times.counted_h, FLIGHT_H + TAXI_H + price_h_per_gal * way_gal, rtol=1e-6)


@pytest.mark.parametrize("bad_gal", [BURN_GAL + 10.0, 10.0, 0.0])
def test_balance_is_asked_for_at_the_start_with_the_reserve_and_dry(bad_gal):
    class Delicate(Plain):
        def balance_ok(self, zero_fuel_lb, zero_fuel_moment_lb_in, fuel_gal):
            assert (zero_fuel_lb == DRY_LB).all()
            return np.abs(fuel_gal - bad_gal) > 0.01

    decisions, _ = decided(plan(aircraft=Delicate()))
    assert (decisions.structural == BIT[Reason.BALANCE]).all()


@pytest.mark.parametrize(("top_ft", "wind_kt", "shut"), [
    (14_000.0, 47.0, False), (14_000.0, 47.1, True),        # 40 kt at the ridges are 47.06 kt at the level above them
    (15_500.0, 64.7, False), (15_500.0, 64.8, True)])       # from 4,000 ft above the lowest clear level on: 55 kt
@pytest.mark.parametrize("across", [False, True])
def test_wind_over_the_ridges_has_its_limit_and_a_wider_one_for_who_can_stay_well_above(top_ft, wind_kt, shut, across):
    made = plan()
    levels_ft = np.tile([11_500.0, top_ft], (4, 1))
    rows = replace(made.table.rows, mountainous=np.ones(4, dtype=bool), lowest_ft=np.full(4, 11_500.0),
                   levels_ft=levels_ft)
    made = replace(made, table=replace(made.table, rows=rows, usable=np.ones((4, 2), dtype=bool)))
    air = still(head_kt=0.0 if across else wind_kt)
    air = replace(air, crosswind_kt=np.full_like(air.crosswind_kt, wind_kt if across else 0.0))
    bits = ridge_bits(made, made.cells.air(air, made.rows.lane))
    assert bool((bits & BIT[Reason.TURBULENCE]).all()) is shut
    low = replace(rows, lowest_ft=np.full(4, 10_900.0))
    below = replace(made, table=replace(made.table, rows=low))
    assert not ridge_bits(below, below.cells.air(air, below.rows.lane)).any()


@pytest.mark.parametrize(("length_ft", "shut"), [(3396.0, False), (3393.0, True)])
def test_a_runway_is_landed_on_at_the_weight_of_landing(length_ft, shut):
    # A foot for a pound and half as much again: 2,200 lb, an hour's fuel and 3 lb for the approach are 3,394.5 ft.
    class Heavy(Plain):
        def landing_ft(self, pressure_altitude_ft, temperature_c, weight_lb, headwind_kt):
            return np.broadcast_to(weight_lb, np.broadcast(pressure_altitude_ft, headwind_kt, weight_lb).shape)

    row = np.arange(4)
    fields = FieldRows(row, TRIPS.to_place, Directions.of(np.zeros((4, 1))), np.full((4, 1), length_ft),
                       np.ones((4, 1)), np.ones((4, 1), dtype=bool), np.zeros(4),
                           np.zeros((4, 2), dtype=np.int8))
    runways = RunwayRows(no_fields(), fields, np.zeros(0, dtype=np.int64), 200.0, 12.0)
    decisions, rows = decided(plan(aircraft=Heavy(), runways=runways))
    assert float(rows.takeoff_lb[0, 0]) == pytest.approx(DRY_LB + 6.0 * (BURN_GAL + 10.0 - FUEL.taxi_gal), rel=1e-6)
    assert bool((decisions.reasons[:, INSIDE] & BIT[Reason.RUNWAY]).all()) is shut
