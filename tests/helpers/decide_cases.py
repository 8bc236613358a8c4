"""An aircraft whose figures never change, and a candidate of it that decides: for values by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from year_cases import schedule_of

from missionsim.base.assumptions import packaged_assumptions
from missionsim.decide.candidate_plan import (
    CandidatePlan,
    Directions,
    Equipment,
    FieldRows,
    Loads,
    OptionIndex,
    PilotLimits,
    PlanTimes,
    RowIndex,
    RunwayRows,
)
from missionsim.decide.cells import AirCells
from missionsim.decide.decide import decide
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.flight.batch import AirOnRoutes, LevelLimits
from missionsim.flight.minima import Minima, VisualMinimum
from missionsim.flight.rules import Rules
from missionsim.flight.stops import CoarseFlight
from missionsim.flight.table import FlightRows, FuelPolicy, build_table
from missionsim.year.aircraft import TripLimits
from missionsim.year.looked_slots import AIR_SLOTS

HOME, THERE = 0, 1
FIELD_FT, LEVELS_FT = 2000.0, np.array([5000.0, 8000.0])
MILES = 240.0
FUEL = FuelPolicy(taxi_gal=1.0, approach_gal=0.5, reserve_h=1.0, lb_per_gal=6.0, usable_gal=60.0)
TAXI_H, APPROACH_H, FLIGHT_PER_DAY_H = 0.25, 0.1, 7.0
TRIPS = schedule_of([(100.0, HOME, THERE), (105.0, THERE, HOME)], [(300.0, HOME, THERE), (305.0, THERE, HOME)])

# 120 kt and 10 gal/h at any level; climb 600 ft/min at 90 kt and 15 gal/h; descent 500 ft/min at 130 kt and 6 gal/h.
CLIMB_H, DESCENT_H = 3000.0 / 600.0 / 60.0, 3000.0 / 500.0 / 60.0
CRUISE_H = (MILES - 90.0 * CLIMB_H - 130.0 * DESCENT_H) / 120.0
FLIGHT_H = CLIMB_H + CRUISE_H + DESCENT_H + APPROACH_H
BURN_GAL = 15.0 * CLIMB_H + 10.0 * CRUISE_H + 6.0 * DESCENT_H + FUEL.taxi_gal + FUEL.approach_gal


class Plain:
    """An aircraft whose figures never change; satisfies `Performance` and `year.candidate.Aircraft`."""

    max_landing_lb = 3000.0

    def cruise(self, level_ft, isa_deviation_c, weight_lb):
        like = np.zeros(np.broadcast(level_ft, isa_deviation_c, weight_lb).shape)
        return like + 120.0, like + 10.0

    def climb(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        hours = np.maximum(to_ft - from_ft, 0.0) / 600.0 / 60.0 + 0.0 * (isa_deviation_c + weight_lb)
        return hours, 15.0 * hours, 90.0 * hours

    def descent(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        hours = np.maximum(from_ft - to_ft, 0.0) / 500.0 / 60.0 + 0.0 * (isa_deviation_c + weight_lb)
        return hours, 6.0 * hours, 130.0 * hours

    def climb_rate_fpm(self, level_ft, isa_deviation_c, weight_lb):
        return np.full(np.broadcast(level_ft, isa_deviation_c, weight_lb).shape, 600.0)

    def loads(self, people_lb, bags_lb, extra_empty_lb=0.0):
        weight_lb = 1800.0 + people_lb.sum(axis=1) + bags_lb
        fine = np.ones(len(weight_lb), dtype=bool)
        return Loads(weight_lb, weight_lb * 40.0, fine, fine)

    def max_fuel_gal(self, zero_fuel_lb):
        return np.minimum(60.0, (2700.0 - zero_fuel_lb) / 6.0)

    def balance_ok(self, zero_fuel_lb, zero_fuel_moment_lb_in, fuel_gal):
        return np.ones(np.broadcast(zero_fuel_lb, fuel_gal).shape, dtype=bool)

    def takeoff_ft(self, pressure_altitude_ft, temperature_c, weight_lb, headwind_kt):
        return np.broadcast_to(2000.0 - 20.0 * np.asarray(headwind_kt), np.broadcast(
            pressure_altitude_ft, headwind_kt).shape)

    landing_ft = takeoff_ft

    def departure_gradient_ft_per_nm(self, pressure_altitude_ft, temperature_c, weight_lb):
        return np.full(np.shape(pressure_altitude_ft), 400.0)


RULES = Rules(True, True, 60.0, 60.0, True, 12_500.0, 9.0, 9.0, FLIGHT_PER_DAY_H, 12.0, 1.5, 28.0, 12.0, 3.0)
LIMITS = TripLimits(FLIGHT_PER_DAY_H, 12.0, 10.0, 0.5, 7.0, 1.0, 6.0, 1.0, 3.0, 8.0, TAXI_H, 24.0, 48.0)


def no_fields(count=1):
    none = np.zeros(0, dtype=np.int64)
    return FieldRows(none, none, Directions.of(np.zeros((0, count))), np.zeros((0, count)), np.ones((0, count)),
                     np.zeros((0, count), dtype=bool), np.zeros(0), np.zeros((0, 2), dtype=np.int8))


def taking_off(fields):
    return RunwayRows(fields, no_fields(), np.zeros(0, dtype=np.int64), 200.0, 12.0)


def plan(miles=MILES, trips=TRIPS, zero_fuel_lb=2200.0, **changes):
    n = len(trips.trip)
    each = np.arange(n)
    table = build_table(Plain(), FlightRows(np.full(n, miles), np.full(n, FIELD_FT), np.full(n, FIELD_FT),
                                      np.tile(LEVELS_FT, (n, 1)), np.full(n, 4000.0), np.zeros(n, dtype=bool),
                                      np.full(n, zero_fuel_lb)), FUEL, 2700.0)
    every = np.ones((n, 2), dtype=bool)
    made = CandidatePlan(
        name="plain", aircraft=Plain(), assumptions=packaged_assumptions(),
        pilot=PilotLimits(RULES, LIMITS, Minima(np.zeros(2), np.zeros(2), every[0], every[0]),
                          VisualMinimum(500.0, 1.0)),
        equipment=Equipment(False, False, False), fuel=FUEL, coarse=CoarseFlight(120.0, 10.0, 0.1, 1.0),
        table=table, level_limits=LevelLimits(every, every, np.full(n, 200.0, dtype=np.float32)),
        rows=RowIndex(each, each, trips.trip, each, trips.from_place, trips.to_place, np.zeros(n), np.full(n, 9.0),
                      trips.people[trips.trip], np.zeros(n, dtype=np.int64)),
        cells=AirCells.of(each, each, trips), options=OptionIndex(np.arange(n + 1), each, each[:, None], every[:, 0]),
        runways=taking_off(no_fields()),
        times=PlanTimes(0.75, TAXI_H, APPROACH_H, np.full(n, 2.0), np.full(n, 2.25)))
    return replace(made, **changes)


def still(trips=TRIPS, head_kt=0.0):
    shape = (len(trips.trip), trips.slots // AIR_SLOTS, 2)
    head = np.full(shape, head_kt, dtype=np.float32)
    low = head[:, :, 0]
    return AirOnRoutes(head, np.zeros_like(head), np.zeros_like(head), low.copy(), np.zeros_like(low))


def decided(of=None, trips=TRIPS, head_kt=0.0, sky=None, loads=None):
    of = of or plan(trips=trips)
    people = np.full((trips.trips, 2), 200.0)
    loads = loads or of.aircraft.loads(people, np.zeros(trips.trips))
    sky = sky or FixedSky(np.full(2, FIELD_FT))
    return decide(of, trips, of.cells.air(still(trips, head_kt), of.rows.lane), sky, LegWeather.fair(trips), loads)
