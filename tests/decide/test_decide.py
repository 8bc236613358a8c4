"""A year without chance, every hour and gallon and dollar of it worked by hand; and what stands in the way of a leg."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from decide_cases import (
    APPROACH_H,
    BURN_GAL,
    CLIMB_H,
    DESCENT_H,
    FIELD_FT,
    FLIGHT_H,
    FUEL,
    HOME,
    LEVELS_FT,
    LIMITS,
    MILES,
    TAXI_H,
    THERE,
    TRIPS,
    Plain,
    decided,
    plan,
    still,
    taking_off,
)
from money_cases import candidate, priced, terms
from year_cases import LUCK, SLOTS, SOUND, Hops, schedule_of

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.words import ASLEEP, BIT, Reason
from missionsim.decide import decide as under_test
from missionsim.decide import runways
from missionsim.decide.candidate_plan import (
    CoolAir,
    Directions,
    FieldRows,
    OptionIndex,
    RowIndex,
    warmest_of,
    weight_before_tanks,
)
from missionsim.decide.cells import AirCells
from missionsim.decide.decide import decide
from missionsim.decide.flight_records import flight_columns, shop_columns
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.decide.trip_records import EndedYear, trip_columns
from missionsim.flight.batch import AirOnRoutes, LevelLimits
from missionsim.flight.table import FlightRows, build_table
from missionsim.money.categories import Category
from missionsim.money.insurance import PilotExperience
from missionsim.money.prices import place_prices, prices_of
from missionsim.year.aircraft import Aircraft
from missionsim.year.simulate import simulate_year
from missionsim.year.under_way import leading
from missionsim.year.waking import WakingDay

BOTH_ENDS = np.tile(np.array([0, 1], dtype=np.int8), (4, 1))


def test_hours_and_gallons_of_a_year_without_chance():
    decisions, rows = decided()
    log = simulate_year(TRIPS, decisions, Aircraft(SOUND, LUCK, Hops()), LIMITS)
    flights = flight_columns(log, plan(), TRIPS, rows, 0)
    assert len(flights["leg"]) == 4
    np.testing.assert_allclose(flights["flight_h"], FLIGHT_H, rtol=1e-6)
    np.testing.assert_allclose(flights["block_h"], FLIGHT_H + TAXI_H, rtol=1e-6)
    np.testing.assert_allclose(flights["fuel_burn_gal"], BURN_GAL, rtol=1e-6)
    assert set(flights["level_ft"].tolist()) == {5000.0}    # calm air: the lower level is reached sooner
    trips = trip_columns([EndedYear.of(0, log, TRIPS.trips)], flights, TRIPS, WakingDay(7.0, 16.0))
    assert trips["outcome"].tolist() == ["completed", "completed"]
    np.testing.assert_allclose(trips["home_h"], [105.0 + FLIGHT_H + TAXI_H, 305.0 + FLIGHT_H + TAXI_H])
    np.testing.assert_allclose(trips["flight_h"], 2.0 * FLIGHT_H)


def test_fuel_on_board_is_flight_and_an_hours_reserve():
    _, rows = decided()
    by_hour = plan().cells.hours
    np.testing.assert_allclose(by_hour(rows.required_gal)[:, 3], BURN_GAL + 10.0 * FUEL.reserve_h, rtol=1e-6)
    start_lb = 2200.0 + 6.0 * (BURN_GAL + 10.0 - FUEL.taxi_gal)
    np.testing.assert_allclose(by_hour(rows.takeoff_lb)[:, 3], start_lb, rtol=1e-6)


def test_dollars_of_a_year_without_chance():
    decisions, rows = decided()
    log = simulate_year(TRIPS, decisions, Aircraft(SOUND, LUCK, Hops()), LIMITS)
    flights = flight_columns(log, plan(), TRIPS, rows, 0)
    a = packaged_assumptions()
    prices = prices_of(a, {"fuel_usd_per_gal": 5.0})
    trips = trip_columns([EndedYear.of(0, log, TRIPS.trips)], flights, TRIPS, WakingDay(7.0, 16.0))
    ledger = priced(candidate("F4"), flights, trips, shop_columns(log.shop),
                       replications=[0], terms=terms(2), places=place_prices(["KGRI", "KOMA"], 0, prices, -6.0),
                       prices=prices, pilot=PilotExperience(800.0, 100.0, 100.0, True, 45.0), assumptions=a)
    fuel_cents = ledger.amount_cents[ledger.category == list(Category).index(Category.FUEL)].sum()
    # Four flights; each entry is rounded to the cent, and the tanks are brought back to where they began.
    assert fuel_cents == pytest.approx(100.0 * 5.0 * 4 * BURN_GAL, abs=3)
    oil_usd = prices.oil_usd_per_quart / a["cost.oil_h_per_quart"]["F4"] * 4 * FLIGHT_H
    oil_cents = ledger.amount_cents[ledger.category == list(Category).index(Category.OIL)].sum()
    assert oil_cents == pytest.approx(100.0 * oil_usd, abs=6)


def test_a_headwind_is_the_distance_over_a_slower_ground():
    decisions, _ = decided(head_kt=20.0)
    slope_nm = 90.0 * CLIMB_H + 130.0 * DESCENT_H - 20.0 * (CLIMB_H + DESCENT_H)
    by_hand = CLIMB_H + DESCENT_H + (MILES - slope_nm) / 100.0 + APPROACH_H
    np.testing.assert_allclose(decisions.flight_h[:, 3], by_hand, rtol=1e-6)


@pytest.mark.parametrize(("miles", "zero_fuel_lb", "reason"), [(700.0, 2200.0, Reason.RANGE),
                                                               (400.0, 2500.0, Reason.PAYLOAD)])
def test_fuel_that_tanks_or_weight_do_not_allow_refuses_in_any_weather(miles, zero_fuel_lb, reason):
    loads = Plain().loads(np.full((2, 2), (zero_fuel_lb - 1800.0) / 2.0), np.zeros(2))
    decisions, _ = decided(plan(miles, zero_fuel_lb=zero_fuel_lb), loads=loads)
    assert (decisions.structural & BIT[reason]).all()
    assert (decisions.next_go[:, 0] == SLOTS).all()


@pytest.mark.parametrize(("required_gal", "allowed_gal", "weight"), [
    (59.0, 53.0, False),    # the load lets the tanks be filled: they are short
    (59.0, 48.0, False),    # 5 of 53 gal stay empty, 6 are short beyond
    (59.0, 46.0, True),     # 7 stay empty
    (52.0, 15.0, False)])   # the tanks hold it: weight alone, told as such
def test_weight_is_before_the_tanks_where_it_keeps_more_out_than_they_lack(required_gal, allowed_gal, weight):
    assert bool(weight_before_tanks(np.array([required_gal]), np.array([allowed_gal]), 53.0)[0]) is weight


@pytest.mark.parametrize(("zero_fuel_lb", "first"), [(2200.0, Reason.RANGE), (2650.0, Reason.PAYLOAD)])
def test_a_way_beyond_the_tanks_is_refused_for_weight_where_the_load_leaves_them_empty(zero_fuel_lb, first):
    loads = Plain().loads(np.full((2, 2), (zero_fuel_lb - 1800.0) / 2.0), np.zeros(2))
    decisions, _ = decided(plan(700.0, zero_fuel_lb=zero_fuel_lb), loads=loads)
    assert (decisions.structural & BIT[Reason.RANGE]).all()     # so that no lighter load is tried for it
    assert {leading(int(mask)) for mask in decisions.structural} == {first}


def test_a_tight_runway_is_open_into_the_wind_and_shut_in_calm():
    # 2,000 ft in calm, 20 ft less for each knot; times the margin of 1.5: 3,000 ft, 2,700 ft into 10 kt.
    row = np.arange(4)
    ends = Directions.of(np.tile([0.0, 180.0], (4, 1)))
    tight = FieldRows(row, TRIPS.from_place, ends, np.full((4, 2), 2800.0), np.ones((4, 2)),
                      np.ones((4, 2), dtype=bool), np.full(4, 2800.0), BOTH_ENDS)
    of = plan(runways=taking_off(tight))
    for wind_kt, shut in ((0.0, True), (10.0, False)):
        sky = FixedSky(np.full(2, FIELD_FT), wind_from_deg=180.0, wind_kt=wind_kt)
        decisions, _ = decided(of, sky=sky)
        inside = np.arange(SLOTS) <= TRIPS.last_slot[0]
        assert ((decisions.reasons[:, inside] & BIT[Reason.RUNWAY]) != 0).all() == shut
        assert bool(decisions.structural.any()) == shut


def test_the_quick_look_at_runways_never_differs_from_the_thorough_one(rng, monkeypatch):
    row = np.arange(4)
    headings = rng.uniform(0, 180, (4, 1)).round() + np.array([[0.0, 180.0]])
    some = np.array([-30.0, 35.0], dtype=np.float32)
    for _ in range(40):
        length = np.repeat(rng.uniform(2200, 3600, (4, 1)), 2, axis=1)
        # 3,000 ft are needed in calm, whatever the air and the weight: a hundredth more does for sure.
        cool = CoolAir(warmest_of(3030.0 / length[:, :1, None] + np.zeros(2), some), np.full(4, FIELD_FT + 400.0),
                       np.full(4, 2700.0), np.zeros(1), some)
        quick = FieldRows(row, TRIPS.from_place, Directions.of(headings), length, np.ones((4, 2)),
                          np.ones((4, 2), dtype=bool), length[:, 0], BOTH_ENDS)
        wind = {"wind_from_deg": float(rng.uniform(0, 360)), "wind_kt": float(rng.uniform(0, 16))}
        sky = FixedSky(np.full(2, FIELD_FT), **wind)
        found = []
        for few, left, fields in ((0, 0, quick), (0, 0, replace(quick, both_ways_ft=np.zeros(4))), (1500, 0, quick),
                                  (0, 1500, replace(quick, cool=cool)), (0, 0, replace(quick, cool=cool))):
            monkeypatch.setattr(runways, "FEW", few)
            monkeypatch.setattr(runways, "MANY_LEFT", left)
            found.append(decided(plan(runways=taking_off(fields)), sky=sky)[0].reasons)
        for other in found[1:]:
            np.testing.assert_array_equal(found[0], other)


def test_a_runway_in_cool_air_and_wind_along_it_is_not_looked_at_end_by_end():
    # 09 and 27 are the longest both ways; at most 15 °C, 1,400 ft, and 100 lb more than 2,400.
    ends = Directions.of(np.tile([10.0, 90.0, 270.0], (1, 1)))
    cool = CoolAir(np.array([[20.0, 15.0]]), np.array([1400.0]), np.array([2400.0]), np.array([0.0, 100.0]),
                   np.array([-30.0, 15.0, 20.0]))
    none = np.zeros(1, dtype=np.int64)
    tight = FieldRows(none, none, ends, np.full((1, 3), 3000.0), np.ones((1, 3)), np.ones((1, 3), dtype=bool),
                      np.full(1, 3000.0), np.array([[1, 2]], np.int8), cool)

    def looked_at(altitude_ft, temperature_c, weight_lb, east_kt, north_kt):
        given = tuple(np.array([value]) for value in (altitude_ft, temperature_c, weight_lb))
        wind_kt = np.array([east_kt]), np.array([north_kt])
        return len(runways._doubtful(plan(), tight, none, given, wind_kt, Plain().takeoff_ft)) > 0

    fair = (1300.0, 14.0, 2450.0, -30.0, 10.0)
    assert not looked_at(*fair)
    assert not looked_at(1300.0, 19.0, 2390.0, 30.0, -10.0)
    for number, value in enumerate((1401.0, 16.0, 2501.0)):
        assert looked_at(*(value if k == number else old for k, old in enumerate(fair)))
    assert looked_at(1300.0, -31.0, 2450.0, -30.0, 10.0)      # colder than was tried
    assert looked_at(1300.0, 14.0, 2450.0, -30.0, 12.5)      # 12 kt across are accepted


def test_a_stop_is_chosen_only_where_the_direct_flight_is_not_possible_or_not_comfortable():
    # One leg, direct (row 0) or over a stop half way (rows 1 and 2).
    trips = schedule_of([(100.0, HOME, THERE)])
    single = plan(trips=trips)
    none = np.zeros(3, dtype=np.int64)
    rows = RowIndex(np.array([0, 1, 1]), none, none, none,
                    np.array([HOME, HOME, THERE]), np.array([THERE, THERE, THERE]), np.array([0.0, 0.0, 2.0]),
                    np.full(3, 9.0), np.full(3, 2), none)
    fields_ft = np.full(3, FIELD_FT)
    table = build_table(Plain(), FlightRows(np.array([MILES, MILES / 2, MILES / 2]), fields_ft, fields_ft,
                                      np.tile(LEVELS_FT, (3, 1)), np.full(3, 4000.0), np.zeros(3, dtype=bool),
                                      np.full(3, 2200.0)), FUEL, 2700.0)
    every = np.ones((3, 2), dtype=bool)
    both = replace(single, table=table, rows=rows, cells=AirCells.of(rows.leg, rows.option, trips),
                   options=OptionIndex(np.array([0, 1, 3]), np.zeros(2, dtype=int), np.array([[0, 1]]),
                                       np.zeros(2, dtype=bool)),
                   level_limits=LevelLimits(every, every, np.full(3, 200.0, dtype=np.float32)))

    def option(of):
        air = of.cells.air(still(trips), of.rows.lane)
        loads = Plain().loads(np.full((1, 2), 200.0), np.zeros(1))
        return decide(of, trips, air, FixedSky(np.full(2, FIELD_FT)), LegWeather.fair(trips), loads)[0]

    assert option(both).option[0, 3] == 0
    tired = option(replace(both, rows=replace(rows, comfort_h=np.full(3, 1.5))))
    assert tired.option[0, 3] == 1
    stop_h = 2 * (CLIMB_H + DESCENT_H + APPROACH_H) + (MILES - 2 * (90.0 * CLIMB_H + 130.0 * DESCENT_H)) / 120.0
    assert tired.flight_h[0, 3] == pytest.approx(stop_h, rel=1e-6)
    assert tired.block_h[0, 3] == pytest.approx(stop_h + 2 * TAXI_H + 0.75, rel=1e-6)
    assert option(replace(both, fuel=replace(FUEL, usable_gal=25.0))).option[0, 3] == 1


def test_the_climb_gradient_counts_only_where_rows_say_so():
    weak = replace(plan(), runways=replace(plan().runways, least_gradient_ft_per_nm=500.0))
    assert not (decided(weak)[0].reasons & BIT[Reason.CLIMB]).any()
    counted = decided(replace(weak, runways=replace(weak.runways, climb=np.arange(2))))[0].reasons
    inside = np.arange(SLOTS) <= TRIPS.last_slot[0]
    assert ((counted[:2, inside] & BIT[Reason.CLIMB]) != 0).all()
    assert not (counted[2:] & BIT[Reason.CLIMB]).any()


def test_a_way_flown_visually_waits_for_weather_and_the_other_way_goes():
    # One leg, two ways of one flight each: 5 nm shorter, but under visual rules, or round the high ground.
    trips = schedule_of([(100.0, HOME, THERE)])
    single, none = plan(trips=trips), np.zeros(2, dtype=np.int64)
    fields_ft, every = np.full(2, FIELD_FT), np.ones((2, 2), dtype=bool)
    table = build_table(Plain(), FlightRows(np.array([MILES - 5.0, MILES]), fields_ft, fields_ft,
                                            np.tile(LEVELS_FT, (2, 1)), np.full(2, 4000.0), np.zeros(2, dtype=bool),
                                            np.full(2, 2200.0)), FUEL, 2700.0)
    rows = RowIndex(np.arange(2), none, none, none, np.full(2, HOME), np.full(2, THERE), np.zeros(2), np.full(2, 9.0),
                    np.full(2, 2), np.arange(2))
    both = replace(single, table=table, rows=rows, cells=AirCells.of(rows.leg, rows.option, trips),
                   options=OptionIndex(np.arange(3), none, np.array([[0, 1]]), np.array([True, False])),
                   level_limits=LevelLimits(every, every, np.full(2, 200.0, dtype=np.float32)))
    fair = LegWeather.fair(trips)
    low = np.zeros_like(fair.reasons)
    low.reshape(-1)[trips.looks.hours.place(0, 1)] = BIT[Reason.CEILING]
    head = np.zeros((len(both.cells.row), 2), dtype=np.float32)
    calm = AirOnRoutes(head, head, head, head[:, 0], head[:, 0])
    found, _ = decide(both, trips, calm, FixedSky(np.full(2, FIELD_FT)), replace(fair, visual_reasons=low),
                      Plain().loads(np.full((1, 2), 170.0), np.zeros(1)))
    assert found.option[0, :3].tolist() == [0, 1, 0]
    assert not (found.reasons & ~np.uint32(ASLEEP)).any()


def test_the_next_hour_in_which_a_leg_goes_is_that_of_the_first_at_or_after_each(rng):
    for legs, slots in ((0, 6), (3, 0), (4, 12), (9, 30)):
        go = rng.random((legs, slots)) < rng.random()
        found = under_test._next_go(go)
        assert found.shape == (legs, slots + 1)
        by_hand = [[next((s for s in range(first, slots) if row[s]), slots) for first in range(slots + 1)]
                   for row in go.tolist()]
        assert found.tolist() == by_hand


@pytest.mark.parametrize(("comfort_h", "counts"), [
    (2.0, [0.0, 0.0]),                       # within what people like, and within three minutes of it
    (1.9, [0.75 * 0.05 / 0.285, 0.0]),       # 0.05 h beyond, of the 15 % that are sat through: part of a stop
    (1.6, [100.0, 0.75 * 0.2 / 0.24])])      # more than 15 % beyond: more than any stop
def test_a_little_more_than_the_comfortable_leg_counts_less_than_a_stop(comfort_h, counts):
    made = plan(trips=schedule_of([(100.0, HOME, THERE)]))
    made = replace(made, rows=replace(made.rows, comfort_h=np.array([comfort_h])))
    found = under_test._over_comfort_h(made, np.zeros(2, dtype=int), np.array([2.0, 1.85]))
    assert found.tolist() == pytest.approx(counts)
