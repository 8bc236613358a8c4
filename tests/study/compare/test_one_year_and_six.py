"""A study in which no luck is left tells the same cost of a year whether one year is flown or six.

A study's own keys turn off what is unsure of the aircraft, its state, training and the prices of the shop. Weather,
people and faults have no such key: where trips are flown, all six years are held to those of the first.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_aircraft import load_profile
from missionsim.study.replicate import ownership_years

WHOLE = Path(__file__).parents[2] / "helpers" / "whole_180.yaml"
POINT = {"maintenance.findings_ratio": 0.8, "maintenance.first_annual_factor": 1.5}
NO_FAULTS = {"maintenance.grounding_interval_h": dict.fromkeys(("F4", "R4", "H4", "T6"), 1000.0)}
AT_ONCE = {"keeping.training_days_least": 0.0, "keeping.training_days_per_dual_h": 0.0}


def without_luck(years, adults, trips=2):
    """Return a few trips with an aircraft of which everything is known, which breaks down once in 1,000 hours."""
    study = small_study(trips=trips, candidates=1, years=years, years_kept=6 if years == 1 else None)
    profile, _ = load_profile(WHOLE)
    party = tuple(replace(trip, adults=adults) for trip in study.listed.trips)
    points = {key: {"low": value, "likely": value, "high": value} for key, value in POINT.items()}
    return replace(study, listed=replace(study.listed, trips=party),
                   candidates=(replace(study.candidates[0], profile=profile),),
                   assumptions=study.assumptions.replaced(points | NO_FAULTS | AT_ONCE))


def test_one_year_and_six_agree_to_a_dollar():
    one, six = (compare(without_luck(years, adults=8), 2) for years in (1, 6))
    (a,), (b,) = one.results, six.results
    assert a.values("flight_hours").max() == b.values("flight_hours").max() == 0.0
    assert a.values("net_cost_usd").min() > 20_000.0  # hangar, premium, annual, value lost, trips made otherwise
    assert a.values("net_cost_usd") == pytest.approx(b.values("net_cost_usd"), abs=1.0)


def test_they_agree_to_a_dollar_where_trips_are_flown(monkeypatch):
    weather_of, wear = ownership_years.weather_of, ownership_years.wear
    monkeypatch.setattr(ownership_years, "weather_of", lambda prepared, _: weather_of(prepared, 0))
    monkeypatch.setattr(ownership_years, "wear", lambda seed, replication, _: wear(seed, replication))
    one, six = (compare(without_luck(years, adults=1, trips=6), 1) for years in (1, 6))
    (a,), (b,) = one.results, six.results
    hours, = six.ownership.owned[0].values.records.flight_hours
    assert hours == pytest.approx([a.values("flight_hours")[0]] * 6)
    assert hours.min() > 10.0
    assert a.values("completed_share") == b.values("completed_share") == 1.0
    assert a.values("net_cost_usd") == pytest.approx(b.values("net_cost_usd"), abs=1.0)


def test_oil_ages_from_the_last_planned_visit():
    shop = {"kind": np.array(["oil_change", "annual", "fault"]), "flight_hours": np.array([12.0, 30.0, 41.0])}
    nothing = {name: values[:0] for name, values in shop.items()}
    assert ownership_years.oil_since_h(shop, 50.0, 40.0) == 20.0     # the annual at 30 h; the fault leaves the oil
    assert ownership_years.oil_since_h(nothing, 16.0, 20.0) == 36.0  # no visit: older by what was flown
