"""Minutes on the ground and in the approach, which nobody gave: drawn by replication, the same for all candidates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import fly, weather_of
from missionsim.study.unknowns.routines import ROUTINES, drawn_routines_min, routines_of


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(trips=4))


def test_ranges_are_their_percentiles_and_all_are_open(assumptions):
    drawn = drawn_routines_min(7, range(400), assumptions)
    assert set(drawn) == set(ROUTINES)
    assert np.quantile(drawn["flight.taxi_out_min"], [0.1, 0.5, 0.9]) == pytest.approx([8.0, 13.0, 25.0], rel=0.05)


def test_a_number_given_is_a_point_and_a_range_given_is_drawn(assumptions):
    given = assumptions.replaced({"flight.taxi_out_min": 20, "flight.fuel_stop_min": {
        "low": 30, "likely": 40, "high": 50}})
    drawn = drawn_routines_min(7, range(400), given)
    assert "flight.taxi_out_min" not in drawn
    assert np.quantile(drawn["flight.fuel_stop_min"], [0.1, 0.9]) == pytest.approx([30.0, 50.0], rel=0.05)


def test_given_at_their_likely_values_plans_stay_the_very_ones(prepared, assumptions):
    known = assumptions.replaced({key: assumptions[key] for key in ROUTINES})
    plan = prepared.flyers[0].plan
    assert routines_of(7, [3], known)[0].applied(plan) is plan


def test_a_plan_takes_them_where_it_is_flown(prepared, assumptions):
    known = assumptions.replaced({"flight.taxi_out_min": 30, "flight.taxi_in_min": {
        "low": 11.999, "likely": 12, "high": 12.001}, "flight.fuel_stop_min": 60})
    plan = routines_of(7, [3], known)[0].applied(prepared.flyers[0].plan)
    assert (plan.times.taxi_h, plan.pilot.limits.taxi_h) == pytest.approx((0.7, 0.7), abs=1e-3)   # 30 and 12 minutes
    assert plan.times.ground_h == pytest.approx(1.0)


def test_every_flight_of_a_year_has_the_years_minutes(prepared):
    """Block less flight hours of a flight are the taxi times drawn for the replication."""
    study = prepared.study
    day = weather_of(prepared, 3)
    for number in range(2):
        flights = fly(prepared.entrants[number], day, 3).flights
        taxi_h = routines_of(study.seed, [3], study.assumptions)[0].taxi_h
        assert flights["block_h"] - flights["flight_h"] == pytest.approx(np.full(len(flights["flight_h"]), taxi_h))
    other = replace(prepared, study=replace(study, seed=study.seed + 1))
    assert routines_of(other.study.seed, [3], study.assumptions)[0].taxi_h != taxi_h
