"""A short leg flown twice, by hand: hours, weather of both runs, who waits, flights and fuel."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from decide_cases import BURN_GAL, FLIGHT_H, FUEL, HOME, MILES, TAXI_H, THERE, TRIPS, plan, still
from decide_cases import FIELD_FT as ELEVATION_FT
from year_cases import LUCK, SOUND, Hops

from missionsim.base.words import BIT, Adaptation, Mark, Outcome, Reason
from missionsim.decide.adapt import Lighter
from missionsim.decide.candidate_plan import Loads
from missionsim.decide.decide import decide
from missionsim.decide.flight_records import flight_columns
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.decide.trip_records import EndedYear, trip_columns
from missionsim.decide.two_runs import in_two, may_split
from missionsim.year.aircraft import Aircraft
from missionsim.year.records import LegFlown, TripEnd, YearLog
from missionsim.year.simulate import simulate_year
from missionsim.year.waking import WakingDay

GROUND_H = 0.75
BACK_FLIGHT_H = MILES / 120.0 + 0.1 + 0.1       # still air at 120 kt, climb and descent, the approach
BACK_GAL = 20.0 + 1.0 + 0.1 * 10.0 + FUEL.taxi_gal
MORE_H = BACK_FLIGHT_H + TAXI_H + 2.0 * GROUND_H
BLOCK_H = FLIGHT_H + TAXI_H
LATER = int(np.ceil(2.25 + MORE_H))             # the usual block time of the candidate is 2.25 h
LAST = int(TRIPS.last_slot[0])
ROOM_LB = 2700.0 - 6.0 * (BURN_GAL + 10.0 - FUEL.taxi_gal)
"""What the way leaves for load with an hour's reserve; 2,700 lb is the most at lift-off."""
WIDE = replace(TRIPS, people=np.array([5, 5]))


def loads_of(*zero_fuel_lb):
    weight = np.array(zero_fuel_lb)
    fine = np.ones(len(weight), dtype=bool)
    return Loads(weight, weight * 40.0, fine, fine)


def twice(second_lb, first_lb=ROOM_LB - 5.0, weather=None, made=None):
    """Trip 0 is too heavy and goes in two runs; trip 1 fits."""
    way = Lighter(Adaptation.TWO_RUNS, np.array([0]), lambda places: loads_of(*np.full(len(places), first_lb)),
                  np.zeros(1, dtype=np.int64), second=lambda places: loads_of(*np.full(len(places), second_lb)),
                  follow=np.array([2]))
    made = made or plan(trips=WIDE)
    return decide(made, WIDE, made.cells.air(still(WIDE), made.rows.lane), FixedSky(np.full(2, ELEVATION_FT)),
                  weather or LegWeather.fair(WIDE), loads_of(ROOM_LB + 400.0, ROOM_LB - 1.0), lambda short: iter([way]))


def test_both_runs_and_the_flight_back_take_their_hours_and_the_second_leaves_within_the_window():
    assert LATER == 7
    decisions, rows = twice(ROOM_LB - 200.0)
    assert rows.gave_up.how.tolist() == [Adaptation.TWO_RUNS, 0]
    assert rows.gave_up.follow.tolist() == [2, 0]
    np.testing.assert_allclose(decisions.block_h[0, :3], 2.0 * BLOCK_H + MORE_H, atol=0.01)
    np.testing.assert_allclose(decisions.flight_h[0, :3], 2.0 * FLIGHT_H + BACK_FLIGHT_H, atol=0.01)
    np.testing.assert_allclose(decisions.block_h[2, :3], BLOCK_H, atol=0.01)
    assert (decisions.reasons[0, :LAST - LATER + 1] == 0).all()
    assert (decisions.reasons[0, LAST - LATER + 1:LAST + 1] == BIT[Reason.DUTY]).all()
    assert (decisions.marks[0, :3] == Mark.ADAPTED).all()
    assert not decisions.structural.any()


def test_a_second_run_that_does_not_fit_keeps_the_trip_at_home():
    decisions, rows = twice(ROOM_LB + 1.0)
    assert not rows.gave_up.how.any()
    assert decisions.structural.tolist() == [BIT[Reason.PAYLOAD], 0]


def test_weather_at_any_hour_between_the_runs_closes_the_first():
    weather = LegWeather.fair(WIDE)
    reasons, below = weather.reasons.copy(), weather.below.copy()
    reasons.reshape(-1)[WIDE.looks.hours.place(0, 8)] = BIT[Reason.CEILING]
    below.reshape(-1)[WIDE.looks.hours.place(0, 7)] = True
    decisions, _ = twice(ROOM_LB - 200.0, weather=replace(weather, reasons=reasons, below=below))
    assert [bool(decisions.reasons[0, s] & BIT[Reason.CEILING]) for s in range(3)] == [False, True, True]
    # The second run of the first hour arrives below minima; nothing else in these hours does.
    assert decisions.below[0, :3].tolist() == [True, False, False]


def test_a_day_is_as_long_as_all_three_flights_on_each_way():
    made = plan(trips=WIDE)
    assert 2.0 * BLOCK_H + MORE_H < 12.0 < 2.0 * (2.0 * BLOCK_H + MORE_H)
    log = simulate_year(WIDE, twice(ROOM_LB - 200.0)[0], Aircraft(SOUND, LUCK, Hops()), made.pilot.limits)
    by_trip = {end.trip: end for end in log.ends}
    assert by_trip[0].outcome is Outcome.REFUSED
    assert by_trip[0].reason is Reason.DUTY
    assert by_trip[1].outcome is Outcome.COMPLETED


def test_flights_people_fuel_and_the_hours_of_those_who_wait():
    made, (_, rows) = plan(trips=WIDE), twice(ROOM_LB - 200.0)
    end = TripEnd(0, Outcome.COMPLETED, None, 0, False, 97.0, 120.0, 1, 0, 0, False, 0, int(Mark.ADAPTED))
    log = YearLog(legs=[LegFlown(0, 0, 0, 97.0), LegFlown(1, 1, 0, 97.0 + 2.0 * BLOCK_H + MORE_H)], ends=[end])
    flights = flight_columns(log, made, WIDE, rows, 0)
    assert flights["from_place"].tolist() == [HOME, THERE, HOME, THERE, HOME, THERE]
    assert flights["to_place"].tolist() == [THERE, HOME, THERE, HOME, THERE, HOME]
    # Five: two and the pilot, the pilot alone, the pilot and two more.
    assert flights["people"].tolist() == [3, 1, 3, 3, 1, 3]
    back_h = 97.0 + BLOCK_H + GROUND_H
    second_h = back_h + BACK_FLIGHT_H + TAXI_H + GROUND_H
    np.testing.assert_allclose(flights["depart_h"][:3], [97.0, back_h, second_h], atol=0.01)
    np.testing.assert_allclose(flights["block_h"][:3], [BLOCK_H, BACK_FLIGHT_H + TAXI_H, BLOCK_H], atol=0.01)
    np.testing.assert_allclose(flights["fuel_burn_gal"][:3], [BURN_GAL, BACK_GAL, BURN_GAL], atol=0.05)
    assert not flights["is_stop"].any()
    trips = trip_columns([EndedYear.of(0, log, WIDE.trips, rows.gave_up)], flights, WIDE, WakingDay(0.0, 24.0))
    assert (trips["flights"].tolist(), trips["fuel_stops"].tolist(), trips["how"].tolist()) == ([6], [0], [4])
    # Two of five leave home when the second run does, two of five are home when the first run is.
    whole_h = 2.0 * (2.0 * BLOCK_H + MORE_H + 1.5)
    spared_h = 2.0 * 2.0 / 5.0 * (second_h - 97.0)
    assert float(trips["door_to_door_h"][0]) == pytest.approx(whole_h - spared_h, abs=0.05)


def test_parties_part_evenly_with_an_adult_beside_every_child():
    people = np.array([[200.0, 180.0, 160.0, 90.0, 50.0], [200.0, 150.0, 90.0, 60.0, 0.0], [200.0, 0.0, 0.0, 0.0, 0.0]])
    adults = np.array([3, 2, 1])
    (first, early), (second, late), follow = in_two(people, np.array([100.0, 120.0, 300.0]), adults)
    assert first.tolist()[0] == [200.0, 180.0, 0.0, 90.0, 0.0]
    assert second.tolist()[0] == [200.0, 0.0, 160.0, 0.0, 50.0]
    # 470 and 410 lb of people: 20 and 80 lb of bags.
    assert (early[0], late[0], follow[0]) == (20.0, 80.0, 2)
    # The other adult goes first with both children, all bags follow; a pilot alone takes half of the load each time.
    assert (first[1].tolist(), second[1].tolist()) == (people[1].tolist(), [200.0, 0.0, 0.0, 0.0, 0.0])
    assert (early[1:].tolist(), late[1:].tolist(), follow[1:].tolist()) == ([0.0, 150.0], [120.0, 150.0], [0, 0])
    assert may_split(np.array([5, 4, 1, 3]), np.array([3, 2, 1, 1])).tolist() == [True, True, True, False]
