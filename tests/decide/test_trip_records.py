"""Trips of several years laid together: each is told as it would be alone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from year_cases import schedule_of

from missionsim.base.words import Outcome, Purpose
from missionsim.decide.trip_records import Aboard, EndedYear, trip_columns, waits_away
from missionsim.year.records import LegFlown, TripEnd, YearLog
from missionsim.year.waking import WakingDay

HOME, THERE, ON = 0, 1, 2
TRIPS = schedule_of([(100.0, HOME, THERE), (130.0, THERE, ON), (160.0, ON, HOME)],
                    [(400.0, HOME, THERE), (420.0, THERE, HOME)])
AWAKE = WakingDay(7.0, 16.0)
LATE_H = st.sampled_from([-5.0, 0.0, 2.25, 7.5])
LEGS = st.tuples(*[st.one_of(st.none(), st.tuples(LATE_H, LATE_H))] * 5)
"""By leg: None, not flown; else how late it leaves, and how much of that it was already late to arrive."""
LEFT = st.tuples(*[st.sampled_from([-1.0, 3.0])] * 2)


def year_of(replication, legs, left):
    """Return a year, and its flights, of legs that leave so late and take an hour and as much more."""
    flown = [(leg, *how) for leg, how in enumerate(legs) if how is not None]
    log = YearLog(legs=[LegFlown(leg, 0, 0, TRIPS.planned_h(leg) + late_h) for leg, late_h, _ in flown], ends=[
        TripEnd(trip, Outcome.COMPLETED, None, 0, False, 1.0, 2.0, 1, 0, 0, False, 0,
                left_h=500.0 + more_h if more_h > 0.0 else -1.0) for trip, more_h in enumerate(left)])
    leg = np.array([leg for leg, *_ in flown], dtype=int)
    hours = np.array([1.0 + max(more_h, 0.0) for *_, more_h in flown])
    flights = {"trip": TRIPS.trip[leg], "leg": leg - TRIPS.first_leg[TRIPS.trip[leg]],
               "purpose": np.full(len(leg), str(Purpose.TRIP), dtype=object), "block_h": hours, "flight_h": hours,
               "depart_h": np.array([f.depart_h for f in log.legs]), "fuel_burn_gal": 10.0 * hours,
               "is_stop": np.zeros(len(leg), dtype=bool), "replication": np.full(len(leg), replication)}
    return log, flights


def plain_waits(log, flights):
    """Return the waits of one year, leg by leg: trip, from and until."""
    arrived_h = {}
    for trip, leg, depart_h, block_h in zip(*(flights[n] for n in ("trip", "leg", "depart_h", "block_h")), strict=True):
        arrived_h[int(TRIPS.first_leg[trip] + leg)] = depart_h + block_h
    departures = [(f.leg, f.depart_h) for f in log.legs]
    last = {int(TRIPS.trip[leg]): leg for leg, _ in departures}
    departures += [(last[e.trip] + 1, e.left_h) for e in log.ends if e.left_h >= 0.0 and e.trip in last]
    late_h, waits = {}, []
    for leg, depart_h in sorted(departures):
        trip, own_h = int(TRIPS.trip[leg]), depart_h - TRIPS.planned_h(leg)
        if leg > TRIPS.first_leg[trip]:
            before_h = late_h.get(trip, 0.0)
            waits.append((trip, max(TRIPS.planned_h(leg) + before_h, arrived_h.get(leg - 1, -np.inf)), depart_h))
            own_h = max(own_h, before_h)
        late_h[trip] = own_h
    return waits


@given(st.lists(st.tuples(LEGS, LEFT), min_size=1, max_size=3))
def test_years_together_wait_as_each_does_leg_by_leg(years):
    # Nobody leaves by other means whose last leg was flown.
    years = [(legs, [0.0 if legs[end] else left for end, left in zip((2, 4), own, strict=True)]) for legs, own in years]
    made = [year_of(number, *year) for number, year in enumerate(years)]
    flights = {name: np.concatenate([own[name] for _, own in made]) for name in made[0][1]}
    aboard = Aboard.of(flights, flights["replication"], flights["leg"] >= 0, TRIPS.trips)
    trip, from_h, until_h = waits_away([EndedYear.of(k, log, 2) for k, (log, _) in enumerate(made)], aboard, TRIPS)
    expected = [(2 * k + trip, *hours) for k, own in enumerate(made) for trip, *hours in plain_waits(*own)]
    assert list(zip(trip.tolist(), from_h.tolist(), until_h.tolist(), strict=True)) == expected


@given(st.lists(st.tuples(LEGS, LEFT), min_size=2, max_size=3))
def test_years_together_are_told_as_each_alone(years):
    years = [(legs, [0.0 if legs[end] else left for end, left in zip((2, 4), own, strict=True)]) for legs, own in years]
    made = [year_of(3 + number, *year) for number, year in enumerate(years)]
    ended = [EndedYear.of(3 + k, log, 2) for k, (log, _) in enumerate(made)]
    flights = {name: np.concatenate([own[name] for _, own in made]) for name in made[0][1]}
    together = trip_columns(ended, flights, TRIPS, AWAKE)
    alone = [trip_columns([own], flown, TRIPS, AWAKE) for own, (_, flown) in zip(ended, made, strict=True)]
    for name, values in together.items():
        assert values.tolist() == np.concatenate([one[name] for one in alone]).tolist()
        assert values.dtype == alone[0][name].dtype


def test_a_year_without_trips_has_typed_columns():
    log, flights = year_of(0, [None] * 5, [0.0, 0.0])
    log.ends.clear()
    trips = trip_columns([EndedYear.of(0, log, 2)], flights, TRIPS, AWAKE)
    assert all(len(values) == 0 for values in trips.values())
    assert (trips["trip"].dtype, trips["outcome"].dtype, trips["home_h"].dtype) == (np.int64, object, float)


@pytest.mark.parametrize("name", ["reasons", "diversions", "nights_forced", "marks", "turned", "met_below", "looks"])
def test_whole_numbers_of_a_trip_stay_what_they_were(name):
    log, flights = year_of(0, [(0.0, 0.0)] * 5, [0.0, 0.0])
    log.ends[1] = log.ends[1]._replace(**{name: 2**31 - 1})
    assert trip_columns([EndedYear.of(0, log, 2)], flights, TRIPS, AWAKE)[name].tolist() == [0, 2**31 - 1]
