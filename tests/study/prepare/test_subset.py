"""Trips cut out of a prepared study are decided and flown exactly as they would be in the whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.prepare.subset import legs_of, subset, subset_schedule
from missionsim.study.replicate.one_year import weather_of, year_of

BY_LEG = ("reasons", "next_go", "block_h", "flight_h", "below", "early_look", "evening_look")


@pytest.fixture(scope="module")
def prepared():
    study = load_study()
    return prepare(replace(study, candidates=study.candidates[:2]))


@pytest.mark.parametrize("chosen", [[3, 4, 9, 30, 44], [50, 7, 7 + 1, 0]])
def test_some_trips_are_decided_as_in_the_whole(prepared, chosen):
    trips = np.array(chosen)
    part, legs = subset(prepared, trips), legs_of(prepared.schedule, trips)
    whole_day = weather_of(prepared, 2)
    # The same people, whose weights are drawn by the row of the trip.
    day = replace(weather_of(part, 2), people_lb=whole_day.people_lb[trips])
    for number in range(2):
        # With a dict to keep weather in, trips that nobody wants are decided on too.
        whole, own = (year_of(some.entrants[number], its_day, 2, kept={})
                      for some, its_day in ((prepared, whole_day), (part, day)))
        for name in BY_LEG:
            assert np.array_equal(getattr(whole.decisions, name)[legs], getattr(own.decisions, name)), name
        assert np.array_equal(whole.decisions.structural[trips], own.decisions.structural)
        for leg, slot in enumerate(part.schedule.planned_slot.tolist()):
            assert (own.decisions.diverts.diversion(leg, slot)
                    == whole.decisions.diverts.diversion(int(legs[leg]), slot))


def test_all_trips_are_the_whole(prepared):
    everything = subset_schedule(prepared.schedule, np.arange(prepared.schedule.trips))
    assert np.array_equal(everything.looks.slot, prepared.schedule.looks.slot)
    for name in set(type(prepared.schedule).__dataclass_fields__) - {"least_blocks"}:
        assert np.array_equal(getattr(everything, name), getattr(prepared.schedule, name)), name


def test_no_trips_are_no_legs(prepared):
    assert len(legs_of(prepared.schedule, np.zeros(0, dtype=np.int64))) == 0


def test_flights_that_are_planned_once_are_the_same_in_all_that_counts(prepared):
    for flyer in prepared.flyers:
        plan, same = flyer.plan, flyer.plan.rows.same_flight()
        assert (same != np.arange(len(same))).any()
        for values in (plan.rows.from_place, plan.rows.to_place, plan.rows.comfort_h, plan.rows.people,
                       plan.table.rows.distance_nm, plan.table.rows.levels_ft, plan.table.rows.lowest_ft,
                       plan.table.nominal_takeoff_lb, plan.table.usable, plan.level_limits.oxygen,
                       plan.level_limits.least_climb_fpm, plan.times.nominal_flight_h):
            assert np.array_equal(values[same], values, equal_nan=values.dtype != bool)
        for doubtful in (plan.runways.takeoff.row, plan.runways.landing.row, plan.runways.climb):
            assert np.isin(same[doubtful], doubtful).all()
