"""The story of a year is the year that was flown: the same flights, the same ends, weights as flown."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.report.explained_trips import explained_trips
from missionsim.study.explain.replication import explain


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


def test_stories_cover_all_trips_and_candidates(comparison):
    told = explained_trips(comparison)
    assert sorted(told) == list(range(7))
    for k, entries in told.items():
        assert {t.name for t in entries} == set(comparison.names)
        for t in entries:
            assert bool(t.flights) != t.outcome.startswith("did not leave"), k
