"""Local flights: spread over the year, kept clear of trips, flown when the aircraft is free, and worn by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from year_cases import LIMITS, LUCK, SOUND, schedule_of, year

from missionsim.base.words import Outcome, Purpose, Reason, Shop
from missionsim.year.local_flying import NO_LOCAL_FLIGHTS, LocalFlights, clear_of_trips, local_flights


def test_hours_are_spread_evenly_and_come_to_what_was_asked_for():
    found = local_flights(3.0, 1.5, 10.0, 10.0, "America/Chicago", 2025)
    # Two flights in the middle of half a year each, at 10:00 daylight time, which is 15:00 UTC: days 91 and 273.
    assert found.start_h == (91 * 24 + 15.0, 273 * 24 + 15.0)
    assert (found.flight_h, found.fuel_gal) == (1.5, 15.0)
    odd = local_flights(10.0, 1.5, 8.0, 10.0, "America/Chicago", 2025)
    assert len(odd.start_h) == 7
    assert len(odd.start_h) * odd.flight_h == pytest.approx(10.0)
    assert local_flights(0.0, 1.5, 10.0, 10.0, "America/Chicago", 2025) is NO_LOCAL_FLIGHTS


def test_they_move_by_whole_days_until_no_trip_is_near():
    flights = LocalFlights((100.0,), 1.5, 12.0)
    # Four hours and the flight itself are wanted before a trip leaves, two hours after it is back.
    assert clear_of_trips(flights, [(105.5, 110.0)]) == [100.0]
    assert clear_of_trips(flights, [(105.4, 110.0)]) == [124.0]
    assert clear_of_trips(flights, [(90.0, 98.0)]) == [100.0]
    assert clear_of_trips(flights, [(90.0, 98.1), (128.0, 130.0)]) == [148.0]
    assert clear_of_trips(flights, [(0.0, 9_000.0)]) == [100.0]  # no free day: it waits for the aircraft


@given(st.lists(st.tuples(st.integers(0, 4_000), st.integers(0, 2_000)), max_size=12), st.floats(0.5, 6.0))
def test_they_stay_clear_of_every_trip_in_whatever_order_trips_come(trips, flight_h):
    away = [(leave / 4.0, (leave + gone) / 4.0) for leave, gone in trips]
    wanted_h = (90.0, 410.0, 777.5)

    def free(at_h):
        return all(at_h + flight_h + 4.0 <= leave_h or at_h >= back_h + 2.0 for leave_h, back_h in away)

    expected = [next((h + 24.0 * k for k in range(60) if free(h + 24.0 * k)), h) for h in wanted_h]
    assert clear_of_trips(LocalFlights(wanted_h, flight_h, 12.0), away) == expected


def test_they_are_flown_at_home_by_the_pilot_alone_and_wear_the_aircraft():
    of = schedule_of([(200.0, 0, 1), (206.0, 1, 0)])
    log = year(of, local=LocalFlights((80.0, 400.0), 1.5, 12.0))
    local = [hop for hop in log.hops if hop.purpose is Purpose.LOCAL]
    assert [(h.depart_h, h.flight_h, h.fuel_gal, h.from_place, h.to_place, h.people, h.trip) for h in local] == [
        (80.0, 1.5, 12.0, 0, 0, 1, -1), (400.0, 1.5, 12.0, 0, 0, 1, -1)]
    assert log.ends[0].outcome is Outcome.COMPLETED
    # Oil is due after 4 h: the trip's two and the first flight's one and a half are not enough, the second flight is.
    oiled = year(of, upkeep=replace(SOUND, oil_interval_h=4.0), local=LocalFlights((80.0, 400.0), 1.5, 12.0))
    assert [(row.kind, row.start_h) for row in oiled.shop if row.kind == Shop.OIL_CHANGE] == [("oil_change", 401.75)]


def test_an_aircraft_that_is_away_is_waited_for_from_day_to_day():
    of = schedule_of([(200.0, 0, 1), (260.0, 1, 0)])
    busy = LocalFlights((210.0,), 1.5, 12.0)
    (end,) = year(of, local=busy).ends
    assert end.outcome is Outcome.COMPLETED
    (hop,) = [h for h in year(of, local=busy, absent=[]).hops if h.purpose is Purpose.LOCAL]
    assert hop.depart_h == 210.0 + 3 * 24.0   # planned away until 261.25: the first whole day two hours after that


def test_a_fault_found_before_a_local_flight_is_mended_at_home_before_the_trip():
    of = schedule_of([(8.0, 0, 1), (14.0, 1, 0)], [(300.0, 0, 1), (306.0, 1, 0)])
    wear = replace(LUCK, fault_sum=np.array([1.5, *range(100, 159)], dtype=float))
    upkeep = replace(SOUND, fault_mean_h=1.0, shown_before_share=1.0)
    without = year(of, upkeep=upkeep, wear=wear)
    assert [end.outcome for end in without.ends] == [Outcome.COMPLETED, Outcome.REFUSED]   # found as it would leave
    assert without.ends[1].reason is Reason.MAINTENANCE
    found = year(of, upkeep=upkeep, wear=wear, local=LocalFlights((100.0,), 1.5, 12.0))
    assert [end.outcome for end in found.ends] == [Outcome.COMPLETED, Outcome.COMPLETED]
    assert [(row.kind, row.start_h, row.trip) for row in found.shop if row.kind == Shop.FAULT] == [("fault", 100.0, -1)]
    (hop,) = [h for h in found.hops if h.purpose is Purpose.LOCAL]
    assert hop.depart_h == 148.0   # mended for 48 h, flown the first day after


def test_no_local_hours_are_the_former_year():
    of = schedule_of([(200.0, 0, 1), (206.0, 1, 0)])
    assert year(of, local=NO_LOCAL_FLIGHTS) == year(of)


def test_a_sole_pilot_without_the_aircraft_is_away_all_the_same_and_others_stay_at_home():
    of = schedule_of([(200.0, 0, 1), (206.0, 1, 0)])
    busy = LocalFlights((198.0,), 1.5, 12.0)
    (alone,), (others,) = (year(of, local=busy, booked={0}, limits=limits).hops for limits in (LIMITS, [LIMITS]))
    assert (alone.depart_h, others.depart_h) == (198.0 + 24.0, 198.0)
