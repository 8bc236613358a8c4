"""Owning against renting and travelling, by hand: from how many hours on, and what all trips cost by other means."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.study.compare import rent_or_own as under_test


def owned(usd):
    """Return what tells the cost of owning, in every replication, with trips at a multiple of the study's."""
    return SimpleNamespace(over_years=False, cost=lambda _, change: np.full(12, usd(change.trips)))


def test_owning_is_cheaper_from_where_its_fixed_cost_is_earned():
    # 10,000 dollars fixed and 10,000 with the trips, against 20,000 with the trips: level at the trips of the study.
    found = under_test._from(owned(lambda trips: 10_000.0 + 10_000.0 * trips), 0,
                             lambda trips: np.full(12, 20_000.0 * trips), 120.0)
    assert found["at"] == pytest.approx(120.0, abs=1.0)
    # The other way round owning is cheaper up to there, not from there on.
    found = under_test._from(owned(lambda trips: 20_000.0 * trips), 0,
                             lambda trips: np.full(12, 10_000.0 + 10_000.0 * trips), 120.0)
    assert found == {"at": None, "low": None, "high": None}


def test_a_trip_given_up_costs_what_it_was_worth_and_no_hours(monkeypatch):
    ways = SimpleNamespace(usd=np.array([400.0, 900.0]), hours=np.array([5.0, 12.0]), given_up=np.array([False, True]))
    monkeypatch.setattr(under_test, "other_ways", lambda *_: ways)
    prepared = SimpleNamespace(terms=SimpleNamespace(optional_value_usd=np.array([np.inf, 300.0])), prices=None,
                               study=SimpleNamespace(assumptions=None))
    # Of two years the first trip is wanted in both, the second once: 400 and half of 300 dollars, 5 hours.
    tally = SimpleNamespace(by_trip=np.array([[1, 1, 0], [0, 0, 1]]), replications=[0, 1])
    assert under_test.travelling(SimpleNamespace(prepared=prepared, tallies=[tally])) == (550.0, 5.0)


def test_where_each_year_has_its_own_trips_those_wanted_in_it_are_travelled():
    # Two years: a trip of 400 dollars and 5 hours in each, one of 900 given up for its worth of 300 in the second.
    year = np.array([0, 1, 1])
    trips = SimpleNamespace(other_given_up=np.array([False, False, True]), other_usd=np.array([400.0, 400.0, 900.0]),
                            other_value_usd=np.array([np.nan, np.nan, 300.0]), other_h=np.array([5.0, 5.0, 12.0]),
                            sums=lambda values, reps: np.bincount(year, values, len(reps)))
    tally = SimpleNamespace(by_trip=np.zeros((0, 4)), replications=[0, 1], trips=trips)
    assert under_test.travelling(SimpleNamespace(prepared=None, tallies=[tally])) == (550.0, 5.0)
