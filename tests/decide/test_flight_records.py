from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import year_cases
from year_cases import schedule_of

from missionsim.base.words import Outcome, Purpose, Reason
from missionsim.decide.adapt import Adapted
from missionsim.decide.cells import AirCells
from missionsim.decide.flight_records import flight_columns, flights_in_order, shop_columns, year_record
from missionsim.decide.trip_records import Aboard, EndedYear, trip_columns, waits_away
from missionsim.flight.batch import Plans
from missionsim.flight.stops import CoarseFlight
from missionsim.flight.table import FuelPolicy
from missionsim.year.records import HopFlown, LegFlown, TripEnd, YearLog
from missionsim.year.waking import WakingDay

HOME, THERE, STOP, ALTERNATE = 0, 1, 2, 3
FUEL = FuelPolicy(taxi_gal=1.0, approach_gal=2.0, reserve_h=1.0, lb_per_gal=6.0)
AWAKE = WakingDay(7.0, 16.0)
TRIPS = schedule_of([(100.0, HOME, THERE), (106.0, THERE, HOME)])
"""Out with a stop (rows 0 and 1 of option 0), back direct (row 2, option 1)."""
CELLS = AirCells.of(np.array([0, 0, 1]), np.array([0, 0, 1]), TRIPS)


def plan():
    return SimpleNamespace(
        options=SimpleNamespace(first_row=np.array([0, 2, 3])), fuel=FUEL, cells=CELLS,
        times=SimpleNamespace(approach_h=0.1, taxi_h=0.25, ground_h=0.75),
        rows=SimpleNamespace(from_place=np.array([HOME, STOP, THERE]), to_place=np.array([STOP, THERE, HOME]),
                             people=np.full(3, 2)),
        table=SimpleNamespace(rows=SimpleNamespace(distance_nm=np.array([150.0, 120.0, 260.0]))),
        coarse=CoarseFlight(150.0, 10.0, 0.1, 2.0))


def rows(detour=0.0):
    grid = np.ones(len(CELLS.row))
    flight_h = np.array([1.0, 0.8, 1.7])[CELLS.row]
    plans = Plans(grid.astype(int), grid * 6000.0, flight_h, flight_h * 10.0, grid * 150.0, grid * 145.0, grid * 5.0,
                  np.zeros(grid.shape, np.uint32), np.zeros(grid.shape, dtype=bool))
    required = np.tile(flight_h * 10.0 + 13.0, (3, 1))
    return SimpleNamespace(plans=plans, required_gal=required, takeoff_lb=np.full(required.shape, 2600.0),
                           loads=SimpleNamespace(zero_fuel_lb=np.array([2200.0])), gave_up=Adapted.none(1),
                           detour_share=np.full(TRIPS.looks.hours.open_.shape, detour))


END = TripEnd(0, Outcome.DELAYED, None, 0, False, 100.0, 108.0, 1, 0, 0, False, 0)


def flown(ends_h=-1.0):
    """Columns of one flight of the way out that ends at an hour."""
    return {"leg": np.array([0]), "trip": np.array([0]), "purpose": np.array(["trip"], dtype=object),
            "depart_h": np.array([ends_h - 1.0]), "block_h": np.array([1.0])}


def waits(year, flights, schedule=TRIPS):
    """Return how long its party waits away for each later leg of a year. [h]"""
    aboard = Aboard.of(flights, np.zeros(len(flights["leg"]), dtype=int), flights["leg"] >= 0, schedule.trips)
    _, from_h, until_h = waits_away([EndedYear.of(0, year, schedule.trips)], aboard, schedule)
    return np.maximum(until_h - from_h, 0.0).tolist()


def told(year, flights):
    """Return the trips of one year."""
    return trip_columns([EndedYear.of(0, year, TRIPS.trips)], flights, TRIPS, AWAKE)


def log(*hops):
    end = TripEnd(0, Outcome.DELAYED, Reason.CEILING, 2048, False, 100.0, 108.0, 1, 2, len(hops), False, 0)
    return YearLog(legs=[LegFlown(0, 0, 3, 100.0), LegFlown(1, 1, 3, 106.0)], hops=list(hops), ends=[end])


def test_a_leg_with_a_stop_becomes_two_flights_by_hand():
    flights = flight_columns(log(), plan(), TRIPS, rows(), 7)
    # One hour and an approach, taxi; three quarters of an hour on the ground; the second begins 1.35 + 0.75 h later.
    np.testing.assert_allclose(flights["depart_h"], [100.0, 102.1, 106.0])
    np.testing.assert_allclose(flights["flight_h"], [1.1, 0.9, 1.8])
    np.testing.assert_allclose(flights["block_h"], [1.35, 1.15, 2.05])
    np.testing.assert_allclose(flights["fuel_burn_gal"], [13.0, 11.0, 20.0])
    assert flights["is_stop"].tolist() == [True, False, False]
    assert flights["leg"].tolist() == [0, 0, 1]
    assert set(flights["replication"].tolist()) == {7}


def test_who_went_by_car_is_not_on_board():
    party = rows()
    party.gave_up.apart[0] = 1
    assert flight_columns(log(), plan(), TRIPS, party, 0)["people"].tolist() == [1, 1, 1]


def test_fuel_is_bought_as_needed_and_the_rest_stays_on_board():
    flights = flight_columns(log(), plan(), TRIPS, rows(), 0)
    # 23 gal wanted, 13 burned: 10 left; 21 wanted: 11 bought, 10 left again; 30 wanted: 20 bought.
    np.testing.assert_allclose(flights["fuel_uplift_gal"], [23.0, 11.0, 20.0])


def test_each_year_begins_with_empty_tanks():
    years = [year_record(log(), plan(), TRIPS, rows(), replication) for replication in (4, 7)]
    flights = flights_in_order(years)
    assert flights["replication"].tolist() == [4, 4, 4, 7, 7, 7]
    np.testing.assert_allclose(flights["fuel_uplift_gal"], [23.0, 11.0, 20.0] * 2)
    alone = flights_in_order(years[1:])
    assert all(values[3:].tolist() == alone[name].tolist() for name, values in flights.items())


def test_a_detour_costs_time_and_fuel_in_flight_only():
    plain, around = (flight_columns(log(), plan(), TRIPS, rows(d), 0) for d in (0.0, 0.1))
    np.testing.assert_allclose(around["flight_h"], plain["flight_h"] * 1.1)
    np.testing.assert_allclose(around["block_h"] - around["flight_h"], 0.25)
    np.testing.assert_allclose(around["fuel_burn_gal"] - plain["fuel_burn_gal"], [1.0, 0.8, 1.7])


def test_no_fuel_is_bought_before_a_diversion():
    diverted = HopFlown(0, 0, Purpose.DIVERSION, THERE, ALTERNATE, 103.3, 0.4, 6.0, 50.0, 2)
    went_on = HopFlown(0, 0, Purpose.CONTINUATION, ALTERNATE, THERE, 104.5, 0.4, 6.0, 50.0, 2)
    flights = flight_columns(log(diverted, went_on), plan(), TRIPS, rows(), 0)
    purposes = flights["purpose"].tolist()
    assert purposes == ["trip", "trip", "diversion", "continuation", "trip"]
    assert flights["fuel_uplift_gal"][2] == 0.0
    # Ten gallons left, six burned; the continuation wants six, a gallon for the taxi and an hour's reserve.
    assert flights["fuel_uplift_gal"][3] == pytest.approx(17.0 - 4.0)
    np.testing.assert_allclose(flights["block_h"][2:4], [0.4, 0.65])


def test_a_ferry_flight_carries_nothing_of_the_party():
    party = rows()
    party.loads.zero_fuel_lb = np.array([2400.0, 1700.0])      # a full trip, and the lightest of the study
    weights = {}
    for purpose, people in ((Purpose.FERRY, 1), (Purpose.TURNED, 2)):
        flights = flight_columns(log(HopFlown(0, 0, purpose, THERE, ALTERNATE, 104.5, 0.4, 6.0, 50.0, people)), plan(),
                                 TRIPS, party, 0)
        weights[purpose] = flights["takeoff_weight_lb"][flights["purpose"].tolist().index(str(purpose))]
    # Six gallons, one for the taxi and an hour's reserve of ten: 17 gal of 6 lb.
    assert weights == {Purpose.FERRY: 1700.0 + 102.0, Purpose.TURNED: 2400.0 + 102.0}


def test_trips_sum_their_flights_and_count_doors_once_a_leg():
    flights = flight_columns(log(), plan(), TRIPS, rows(), 0)
    trips = told(log(), flights)
    assert trips["flights"].tolist() == [3]
    assert trips["fuel_stops"].tolist() == [1]
    assert trips["block_h"][0] == pytest.approx(4.55)
    assert trips["fuel_gal"][0] == pytest.approx(44.0)
    # Doors of two legs, 4.55 h from first movement to stop, three quarters of an hour at the fuel stop, and what the
    # party waited for its way home beyond what it was late on the way out.
    wait_h = (106.0 - TRIPS.planned_h(1)) - (100.0 - TRIPS.planned_h(0))
    assert trips["door_to_door_h"][0] == pytest.approx(TRIPS.door_h.sum() + 4.55 + 0.75 + max(wait_h, 0.0))
    assert (trips["outcome"][0], trips["reason"][0], trips["looks"][0]) == ("delayed", "ceiling", 2)


def test_a_trip_late_as_a_whole_waits_for_nothing_away():
    """Both legs two days and three hours late: nobody waited away. The way home alone: three hours."""
    out, home = TRIPS.planned_h(0), TRIPS.planned_h(1)
    for out_late_h, home_late_h, waited_h in ((51.0, 48.0, 0.0), (48.0, 51.0, 3.0), (0.0, 5.0, 5.0), (0.0, -1.0, 0.0),
                                              (-24.0, -24.0, 0.0), (-24.0, 0.0, 24.0)):
        year = YearLog(legs=[LegFlown(0, 0, 3, out + out_late_h), LegFlown(1, 1, 3, home + home_late_h)], ends=[END])
        assert waits(year, flown()) == pytest.approx([waited_h])


def test_who_is_stranded_waits_from_the_planned_hour_until_leaving_by_other_means():
    home = TRIPS.planned_h(1)
    year = YearLog(legs=[LegFlown(0, 0, 3, TRIPS.planned_h(0))], ends=[END._replace(left_h=home + 7.0)])
    assert waits(year, flown()) == pytest.approx([7.0])
    arrives_late = flown(ends_h=home + 2.0)
    assert waits(year, arrives_late) == pytest.approx([5.0])


def test_a_later_leg_waits_only_for_what_it_adds():
    """Three legs, the second five hours late and the third six: five hours are waited, then one."""
    tour = schedule_of([(100.0, HOME, THERE), (130.0, THERE, STOP), (160.0, STOP, HOME)])
    plan_h = [tour.planned_h(k) for k in range(3)]
    year = YearLog(legs=[LegFlown(0, 0, 3, plan_h[0]), LegFlown(1, 1, 3, plan_h[1] + 5.0),
                         LegFlown(2, 1, 3, plan_h[2] + 6.0)], ends=[END])
    assert waits(year, flown(), tour) == pytest.approx([5.0, 1.0])


def test_nobody_waits_while_under_way():
    """The way out ends two hours after the planned way home; that leaves one hour later."""
    out, home = TRIPS.planned_h(0), TRIPS.planned_h(1)
    year = YearLog(legs=[LegFlown(0, 0, 3, out), LegFlown(1, 1, 3, home + 3.0)], ends=[END])
    assert waits(year, flown(ends_h=home + 2.0)) == pytest.approx([1.0])


def test_nights_on_the_way_of_a_leg_count_without_their_sleep():
    end = log().ends[0]._replace(nights_rested=2, rested_h=20.0)
    flights = flight_columns(log(), plan(), TRIPS, rows(), 0)
    more = told(replace(log(), ends=[end]), flights)["door_to_door_h"]
    assert more - told(log(), flights)["door_to_door_h"] == pytest.approx(20.0 - 2 * 8.0)


def test_an_empty_year_has_typed_columns():
    nothing = YearLog()
    flights = flight_columns(nothing, plan(), TRIPS, rows(), 0)
    assert all(len(values) == 0 for values in flights.values())
    assert shop_columns(nothing.shop)["start_h"].dtype == float


def test_shop_visits_keep_their_story():
    year = year_cases.year(TRIPS)
    shop = shop_columns(year.shop)
    assert shop["kind"].tolist() == ["annual"]
    assert (shop["start_h"][0], shop["end_h"][0]) == (5000.0, 5240.0)
