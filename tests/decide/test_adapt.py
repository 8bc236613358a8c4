"""Loads that do not fit, by hand: what is left behind, who goes by car, and that nobody does where all fits."""

from __future__ import annotations

from dataclasses import fields, replace
from types import SimpleNamespace

import numpy as np
import pytest
from decide_cases import BURN_GAL, FUEL, HOME, LEVELS_FT, MILES, THERE, TRIPS, Plain, plan, still, taking_off
from decide_cases import FIELD_FT as ELEVATION_FT
from year_cases import LUCK, SLOTS, SOUND, Hops, schedule_of

from missionsim.base.words import BIT, Adaptation, Mark, Reason
from missionsim.decide.adapt import Adapted, Lighter, short_of_room, without
from missionsim.decide.candidate_plan import Directions, FieldRows, Loads, OptionIndex, RowIndex
from missionsim.decide.cells import AirCells
from missionsim.decide.decide import _plan_rows, _planned_again, _stops_for_load, decide
from missionsim.decide.flight_records import flight_columns
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.decide.trip_records import EndedYear, trip_columns
from missionsim.flight.batch import LevelLimits
from missionsim.flight.table import FlightRows, build_table
from missionsim.year.aircraft import Aircraft
from missionsim.year.simulate import simulate_year
from missionsim.year.waking import WakingDay

INSIDE = np.arange(SLOTS) <= TRIPS.last_slot[0]
NEED_LB = 6.0 * (BURN_GAL + 10.0 - FUEL.taxi_gal)
"""Fuel of the 240 nm with an hour's reserve, taxi fuel burned; 2,700 lb is the most at lift-off."""
ROOM_LB = 2700.0 - NEED_LB


def loads_of(*zero_fuel_lb, seats=True):
    weight = np.array(zero_fuel_lb)
    fine = np.ones(len(weight), dtype=bool)
    return Loads(weight, weight * 40.0, fine & seats, fine)


def lighter(how, trips, *zero_fuel_lb, apart=0, sheds_lb=np.inf):
    def loads(places):
        return loads_of(*np.array(zero_fuel_lb)[places])

    return Lighter(how, np.array(trips), loads, np.full(len(trips), apart), sheds_lb)


def tried(loads, *ways):
    asked = []

    def ways_of(short):
        asked.append(short.tolist())
        return iter(ways)

    made = plan()
    found = decide(made, TRIPS, made.cells.air(still(), made.rows.lane), FixedSky(np.full(2, ELEVATION_FT)),
                   LegWeather.fair(TRIPS), loads, ways_of)
    return *found, asked


def test_nothing_is_asked_where_all_of_the_load_fits():
    decisions, rows, asked = tried(loads_of(ROOM_LB - 1.0, ROOM_LB - 1.0))
    assert asked == []
    assert not decisions.marks.any()
    assert not rows.gave_up.how.any()


def test_gear_left_behind_makes_a_load_fit_and_the_other_trip_keeps_its_own():
    gear = lighter(Adaptation.GEAR_LEFT, [1], ROOM_LB - 5.0)
    decisions, rows, asked = tried(loads_of(ROOM_LB - 1.0, ROOM_LB + 10.0), gear)
    assert asked == [[1]]
    assert not decisions.structural.any()
    assert rows.gave_up.how.tolist() == [0, Adaptation.GEAR_LEFT]
    np.testing.assert_allclose(plan().cells.hours(rows.takeoff_lb)[:, 3], [2699.0, 2699.0, 2695.0, 2695.0], atol=0.01)
    assert (decisions.marks[:2, INSIDE] == 0).all()
    assert (decisions.marks[2:, INSIDE] == Mark.ADAPTED).all()


def test_planned_again_for_some_trips_is_planned_whole_with_their_loads():
    made, sky, weather = plan(), FixedSky(np.full(2, ELEVATION_FT), wind_kt=8.0), LegWeather.fair(TRIPS)
    weather = replace(weather, blocked_levels=np.arange(len(made.cells.row) * len(LEVELS_FT)).reshape(
        -1, len(LEVELS_FT)) % 3 == 0)
    air = made.cells.air(still(), made.rows.lane)
    full, lightened = loads_of(ROOM_LB + 10.0, ROOM_LB + 20.0), loads_of(ROOM_LB + 10.0, ROOM_LB - 200.0)
    before, whole = (_plan_rows(made, TRIPS, air, sky, weather, loads) for loads in (full, lightened))
    gave_up = replace(Adapted.none(2), how=np.array([0, Adaptation.GEAR_LEFT], dtype=np.uint8))
    again = _planned_again(made, TRIPS, air, sky, weather, lightened, gave_up, before)
    assert (before.takeoff_lb != whole.takeoff_lb).any()
    for found, wanted in ((again, whole), (again.plans, whole.plans)):
        for field in fields(wanted):
            if isinstance(getattr(wanted, field.name), np.ndarray):
                np.testing.assert_array_equal(getattr(found, field.name), getattr(wanted, field.name))
    assert again.gave_up is gave_up


def test_the_first_way_that_is_enough_is_taken():
    ways = (lighter(Adaptation.GEAR_LEFT, [0, 1], ROOM_LB - 5.0, ROOM_LB + 5.0),
            lighter(Adaptation.FEWER_ABOARD, [0, 1], ROOM_LB - 190.0, ROOM_LB - 180.0, apart=1),
            lighter(Adaptation.FEWER_ABOARD, [0, 1], ROOM_LB - 380.0, ROOM_LB - 370.0, apart=2))
    decisions, rows, _ = tried(loads_of(ROOM_LB + 10.0, ROOM_LB + 20.0), *ways)
    assert rows.gave_up.how.tolist() == [Adaptation.GEAR_LEFT, Adaptation.FEWER_ABOARD]
    assert rows.gave_up.apart.tolist() == [0, 1]
    log = simulate_year(TRIPS, decisions, Aircraft(SOUND, LUCK, Hops()), plan().pilot.limits)
    flights = flight_columns(log, plan(), TRIPS, rows, 0)
    people = TRIPS.people.tolist()
    assert flights["people"].tolist() == [people[0], people[0], people[1] - 1, people[1] - 1]
    trips = trip_columns([EndedYear.of(0, log, TRIPS.trips, rows.gave_up)], flights, TRIPS, WakingDay(7.0, 16.0))
    assert (trips["how"].tolist(), trips["apart"].tolist()) == ([1, 2], [0, 1])
    assert (trips["marks"] == Mark.ADAPTED).all()


def test_a_load_that_nothing_makes_fit_is_refused_as_before_and_seats_count_too():
    way = lighter(Adaptation.GEAR_LEFT, [0, 1], ROOM_LB + 1.0, ROOM_LB + 1.0)
    decisions, rows, _ = tried(loads_of(ROOM_LB + 10.0, ROOM_LB + 20.0), way)
    assert (decisions.structural == BIT[Reason.PAYLOAD]).all()
    assert not rows.gave_up.how.any()
    one = lighter(Adaptation.FEWER_ABOARD, [0, 1], 2200.0, 2200.0, apart=1)
    decisions, rows, _ = tried(loads_of(2300.0, 2300.0, seats=False), one)
    assert not decisions.structural.any()
    assert rows.gave_up.apart.tolist() == [1, 1]


def test_who_is_farther_over_than_a_way_sheds_is_not_weighed():
    # Over by 12 lb: a way that sheds 11 lb is passed by, one of 13 is weighed.
    for sheds_lb, how in ((11.0, 0), (13.0, Adaptation.GEAR_LEFT)):
        way = lighter(Adaptation.GEAR_LEFT, [0], ROOM_LB - 5.0, sheds_lb=sheds_lb)
        _, rows, _ = tried(loads_of(ROOM_LB + 12.0, ROOM_LB - 1.0), way)
        assert rows.gave_up.how.tolist() == [how, 0]


def test_whose_bags_find_no_room_is_not_weighed():
    for room, how in (([False, True], 0), ([True, False], Adaptation.GEAR_LEFT)):
        way = replace(lighter(Adaptation.GEAR_LEFT, [0, 1], ROOM_LB - 5.0, ROOM_LB - 5.0), room=np.array(room))
        _, rows, _ = tried(loads_of(ROOM_LB + 12.0, ROOM_LB - 1.0), way)
        assert rows.gave_up.how.tolist() == [how, 0]


def test_gear_is_not_weighed_for_a_party_without_seats_and_who_goes_by_car_frees_one():
    def weighed(places):
        raise AssertionError(places)

    gear = Lighter(Adaptation.GEAR_LEFT, np.array([0, 1]), weighed, np.zeros(2, dtype=int))
    car = lighter(Adaptation.FEWER_ABOARD, [0, 1], ROOM_LB - 190.0, ROOM_LB - 180.0, apart=1)
    _, rows, _ = tried(loads_of(ROOM_LB - 10.0, ROOM_LB - 10.0, seats=False), gear, car)
    assert rows.gave_up.how.tolist() == [Adaptation.FEWER_ABOARD, Adaptation.FEWER_ABOARD]


def test_a_load_too_heavy_to_land_is_lightened_until_it_may():
    class Heavy(Plain):
        max_landing_lb = ROOM_LB - 10.0 + 60.0       # with an hour's reserve, 60 lb, on board

    made = plan(aircraft=Heavy())
    ways = (lighter(Adaptation.GEAR_LEFT, [0, 1], ROOM_LB - 5.0, ROOM_LB - 15.0),
            lighter(Adaptation.FEWER_ABOARD, [0, 1], ROOM_LB - 100.0, ROOM_LB - 100.0, apart=1))
    decisions, rows = decide(made, TRIPS, made.cells.air(still(), made.rows.lane), FixedSky(np.full(2, ELEVATION_FT)),
                             LegWeather.fair(TRIPS), loads_of(ROOM_LB - 1.0, ROOM_LB - 1.0), lambda short: iter(ways))
    assert rows.gave_up.how.tolist() == [Adaptation.FEWER_ABOARD, Adaptation.GEAR_LEFT]
    assert not decisions.structural.any()


def test_a_load_that_does_not_fit_is_held_against_runways_as_the_most_that_takes_off():
    class Weighty(Plain):
        def takeoff_ft(self, pressure_altitude_ft, temperature_c, weight_lb, headwind_kt):
            return np.broadcast_to(np.asarray(weight_lb) + 0.0 * np.asarray(headwind_kt),
                                   np.broadcast(weight_lb, headwind_kt).shape)

    # A foot a pound with half as much again: 4,050 ft at 2,700 lb. 4,100 ft are enough for all that takes off.
    row = np.arange(4)
    for length_ft, how in ((4100.0, Adaptation.GEAR_LEFT), (3990.0, 0)):
        fields = FieldRows(row, TRIPS.from_place, Directions.of(np.zeros((4, 1))), np.full((4, 1), length_ft),
                           np.ones((4, 1)), np.ones((4, 1), dtype=bool), np.zeros(4),
                           np.zeros((4, 2), dtype=np.int8))
        made = plan(aircraft=Weighty(), runways=taking_off(fields))
        way = lighter(Adaptation.GEAR_LEFT, [0], ROOM_LB - 5.0)
        _, rows = decide(made, TRIPS, made.cells.air(still(), made.rows.lane), FixedSky(np.full(2, ELEVATION_FT)),
                         LegWeather.fair(TRIPS), loads_of(ROOM_LB + 300.0, ROOM_LB - 600.0),
                         lambda short, way=way: [way])
        assert rows.gave_up.how.tolist() == [how, 0]


def test_only_trips_that_the_load_alone_keeps_at_home_are_short_of_room():
    payload, tanks = BIT[Reason.PAYLOAD], BIT[Reason.RANGE]
    # Trip 0: one leg too heavy, the other out of range. Trip 1: too heavy in one of two hours. Trip 2: too heavy, and
    # out of range where it is not.
    bits = np.array([[payload, payload], [tanks, tanks], [payload, 0], [0, 0], [payload, tanks], [0, 0]], np.uint32)
    blocks = SimpleNamespace(open_=np.ones((2, 6), dtype=bool), block=np.arange(6), leg=np.arange(6))
    schedule = SimpleNamespace(trip=np.array([0, 0, 1, 1, 2, 2]), trips=3)
    made = SimpleNamespace(cells=SimpleNamespace(legs=blocks))
    assert short_of_room(made, schedule, bits.T).tolist() == [2]


def test_a_stop_is_for_the_load_only_on_the_leg_whose_flight_without_one_is_too_heavy():
    # Options 0 and 2 go without a stop: the first is too heavy, the second may be flown but nobody likes to.
    blocks = SimpleNamespace(option=np.arange(4), first=np.array([0, 2]))
    made = SimpleNamespace(options=SimpleNamespace(first_row=np.array([0, 1, 3, 4, 6])),
                           cells=SimpleNamespace(legs=blocks))
    bits = np.array([[BIT[Reason.PAYLOAD], 0, 0, 0]], np.uint32)
    times = SimpleNamespace(discomfort_h=np.zeros(4))
    assert _stops_for_load(made, np.array([[1, 3]]), bits, times).tolist() == [[True, False]]
    assert _stops_for_load(made, np.array([[0, 2]]), bits, times).tolist() == [[False, False]]


def test_what_weight_does_not_help_is_not_tried():
    # Nobody lightens a load for a way that the tanks do not hold.
    made = plan(fuel=replace(FUEL, usable_gal=20.0))
    air = made.cells.air(still(), made.rows.lane)

    def never(short):
        raise AssertionError(short)

    decisions, _ = decide(made, TRIPS, air, FixedSky(np.full(2, ELEVATION_FT)), LegWeather.fair(TRIPS),
                          loads_of(2200.0, 2200.0), never)
    assert (decisions.structural & BIT[Reason.RANGE]).all()


def test_a_heavy_landing_and_balance_are_looked_at_again():
    class Nosy(Plain):
        max_landing_lb = ROOM_LB + 60.0 - 1.0       # an hour's reserve is 60 lb

        def balance_ok(self, zero_fuel_lb, zero_fuel_moment_lb_in, fuel_gal):
            return np.broadcast_to(zero_fuel_lb <= ROOM_LB - 50.0, np.broadcast(zero_fuel_lb, fuel_gal).shape)

    made = plan(aircraft=Nosy())
    air = made.cells.air(still(), made.rows.lane)
    ways = (lighter(Adaptation.GEAR_LEFT, [0, 1], ROOM_LB - 40.0, ROOM_LB - 60.0),
            lighter(Adaptation.FEWER_ABOARD, [0, 1], ROOM_LB - 200.0, ROOM_LB - 200.0, apart=1))
    decisions, rows = decide(made, TRIPS, air, FixedSky(np.full(2, ELEVATION_FT)), LegWeather.fair(TRIPS),
                             loads_of(ROOM_LB, ROOM_LB), lambda short: iter(ways))
    assert not decisions.structural.any()
    assert rows.gave_up.how.tolist() == [Adaptation.FEWER_ABOARD, Adaptation.GEAR_LEFT]


@pytest.mark.parametrize(("zero_fuel_lb", "comfort_h", "stops", "adapted"), [
    (ROOM_LB - 10.0, 9.0, 0, False),        # all of it fits: flown without a stop
    (ROOM_LB + 10.0, 9.0, 1, True),         # the fuel of the whole way does not: a stop for the load
    (ROOM_LB - 10.0, 1.5, 1, False),        # a stop because people want one
    (ROOM_LB + 10.0, 1.5, 1, False)])       # they would have stopped anyway
def test_a_stop_that_only_the_load_asks_for_is_an_adapted_trip(zero_fuel_lb, comfort_h, stops, adapted):
    trips = schedule_of([(100.0, HOME, THERE)])
    none, fields_ft, every = np.zeros(3, dtype=np.int64), np.full(3, ELEVATION_FT), np.ones((3, 2), dtype=bool)
    rows = RowIndex(np.array([0, 1, 1]), none, none, none, np.array([HOME, HOME, THERE]), np.full(3, THERE),
                    np.array([0.0, 0.0, 2.0]), np.full(3, comfort_h), np.full(3, 2), none)
    table = build_table(Plain(), FlightRows(np.array([MILES, MILES / 2, MILES / 2]), fields_ft, fields_ft,
                                            np.tile(LEVELS_FT, (3, 1)), np.full(3, 4000.0), np.zeros(3, dtype=bool),
                                            np.full(3, zero_fuel_lb)), FUEL, 2700.0)
    made = replace(plan(trips=trips), table=table, rows=rows, cells=AirCells.of(rows.leg, rows.option, trips),
                   options=OptionIndex(np.array([0, 1, 3]), np.zeros(2, dtype=int), np.array([[0, 1]]),
                                       np.zeros(2, dtype=bool)),
                   level_limits=LevelLimits(every, every, np.full(3, 200.0, dtype=np.float32)))
    decisions, _ = decide(made, trips, made.cells.air(still(trips), made.rows.lane), FixedSky(np.full(2, ELEVATION_FT)),
                          LegWeather.fair(trips), loads_of(zero_fuel_lb))
    assert int(decisions.option[0, 3]) == stops
    assert int(decisions.marks[0, 3]) == (Mark.ADAPTED if adapted else 0)


def test_the_last_adults_go_by_car_with_their_share_of_the_bags_but_never_the_pilot_nor_children():
    people = np.array([[195.0, 180.0, 170.0, 75.0], [195.0, 180.0, 0.0, 0.0]])
    left, bags = without(people, np.array([80.0, 40.0]), np.array([3, 2]), 1)
    assert left.tolist() == [[195.0, 180.0, 0.0, 75.0], [195.0, 0.0, 0.0, 0.0]]
    assert bags.tolist() == pytest.approx([60.0, 20.0])
    left, _ = without(people, np.array([80.0, 40.0]), np.array([3, 2]), 2)
    assert left.tolist() == [[195.0, 0.0, 0.0, 75.0], [195.0, 0.0, 0.0, 0.0]]
