"""The story of a year is the year that was flown: the same flights, the same ends, weights as flown."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.report.explained_trips import _field, days_of, usual_days
from missionsim.study.explain.replication import explain
from missionsim.study.explain.trip_days import FieldWeather


@pytest.fixture(scope="module")
def explained(comparison):
    return explain(comparison.prepared, 0)


def first_year(columns):
    return {name: values[columns["replication"] == 0] for name, values in columns.items()}


def test_every_planned_flight_has_its_weights_and_runways(comparison, explained):
    for result, told in zip(comparison.results, explained, strict=True):
        flights = first_year(result.tally.kept.flights)
        planned = np.flatnonzero(flights["purpose"] == "trip")
        assert len(planned)
        for n in planned:
            facts = told.flights[int(flights["trip"][n]), int(flights["leg"][n]), flights["from_ident"][n],
                                 flights["to_ident"][n]]
            assert facts.takeoff_weight_lb == pytest.approx(flights["takeoff_weight_lb"][n], abs=21.0)
            assert facts.landing_weight_lb < facts.takeoff_weight_lb
            assert facts.takeoff_required_ft <= facts.takeoff_available_ft


def test_every_trip_that_did_not_go_as_planned_says_why(comparison, explained):
    for result, told in zip(comparison.results, explained, strict=True):
        trips = first_year(result.tally.kept.trips)
        ends = dict(zip(trips["trip"].tolist(), trips["outcome"], strict=True))
        assert set(told.why) == {trip for trip, end in ends.items() if end != "completed"}


def test_five_people_on_four_seats_and_half_a_ton_of_parts(explained):
    for told in explained:
        assert told.why[5] == "1 person too many (5 for 4 seats)"
        assert told.why[1].endswith("lb of bags over what seats and bag places hold")


def test_a_day_of_every_trip_is_told_with_the_leading_candidate(comparison):
    told = usual_days(comparison)
    assert sorted(told) == list(range(7))
    for k, day in told.items():
        assert bool(day.flights) != day.outcome.startswith("did not leave"), k
        assert day.why if day.outcome != "completed" else True


def test_every_candidate_tells_its_days_of_a_trip_and_no_year_twice(comparison):
    trips = comparison.results[0].tally.trips
    for days in days_of(comparison, 0):
        titles = [d.title for d in days]
        assert titles[0].startswith("A usual year (simulated year ")
        assert len({t.split("(simulated")[1] for t in titles}) == len(titles) <= min(3, len(set(trips.replication)))


def test_weather_of_a_field_is_told_from_where_the_wind_comes_and_when_it_is_calm():
    told = _field(FieldWeather(1_449.0, 2.75, 356.0, 12.2, -3.2))
    assert told == "1,400 ft, 2.8 sm, 360°\u00a012\u00a0kt, −3\u00a0°C"
    assert _field(FieldWeather(99_900.0, 10.0, 40.0, 1.2, 20.0)) == "no ceiling, 10 sm, calm, 20\u00a0°C"
