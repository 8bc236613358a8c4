"""A study in which no luck is left tells the same cost of a year whether one year is flown or six."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from study_cases import small_study

from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_aircraft import load_profile

WHOLE = Path(__file__).parents[2] / "helpers" / "whole_180.yaml"
POINT = {"maintenance.findings_ratio": 0.8, "maintenance.first_annual_factor": 1.5}


def without_luck(years):
    """Return two trips of more people than there are seats, with an aircraft of which everything is known."""
    study = small_study(trips=2, candidates=1, years=years, years_kept=6 if years == 1 else None)
    profile, _ = load_profile(WHOLE)
    crowd = tuple(replace(trip, adults=8) for trip in study.listed.trips)
    points = {key: {"low": value, "likely": value, "high": value} for key, value in POINT.items()}
    return replace(study, listed=replace(study.listed, trips=crowd),
                   candidates=(replace(study.candidates[0], profile=profile),),
                   assumptions=study.assumptions.replaced(points))


def test_one_year_and_six_agree_to_a_dollar():
    one, six = (compare(without_luck(years), 2) for years in (1, 6))
    (a,), (b,) = one.results, six.results
    assert a.values("flight_hours").max() == b.values("flight_hours").max() == 0.0
    assert a.values("net_cost_usd").min() > 20_000.0  # hangar, premium, annual, value lost, trips made otherwise
    assert a.values("net_cost_usd") == pytest.approx(b.values("net_cost_usd"), abs=1.0)
