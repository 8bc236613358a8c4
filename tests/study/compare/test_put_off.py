"""What weather keeps from leaving: shares that hang together, and values by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.compare.put_off import Outbound, _together, experience, outbound, put_off
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of


def ready(rating):
    study = load_study()
    trips = tuple(t for t in study.listed if t.departs_local[0].month in {1, 2, 6, 7})[:14]
    pilot = study.pilot.model_copy(update={"rating": rating})
    return prepare(replace(study, pilot=pilot, candidates=study.candidates[:2],
                           listed=replace(study.listed, trips=trips)))


@pytest.fixture(scope="module", params=["visual", "instrument"])
def prepared(request):
    return ready(request.param)


def test_a_longer_wait_lets_more_go_and_no_fewer_stay_than_the_ends_shut(prepared):
    found = put_off(prepared, range(3))
    assert [(f.candidate, f.season) for f in found] == [
        (flyer.candidate.name, season) for flyer in prepared.flyers for season in ("winter", "summer")]
    assert sum(f.trips for f in found) == 2 * len(prepared.table)
    for f in found:
        assert 0.0 <= f.shares[1] <= f.shares[0] <= 1.0
        assert f.shares[2] <= f.shares[0]
        assert (f.turned_share > 0.0) <= (not prepared.flyers[0].plan.pilot.rules.instrument)
    assert any(f.shares[0] > 0.0 for f in found)


def test_take_off_below_minima_is_always_put_off(prepared):
    for entrant in prepared.entrants:
        seen = outbound(entrant, weather_of(prepared, 1))
        planned = prepared.schedule.planned_slot[prepared.schedule.first_leg[:-1]]
        stays = (seen.bits | seen.turns)[np.arange(len(planned)), planned] != 0
        # On arrival a pilot may go and divert; a departure below minima nobody makes.
        surface, gates = weather_of(prepared, 1).sky.surface, prepared.sky.gates[entrant.number]
        first = prepared.schedule.first_leg[:-1]
        leave = gates.hours.departure_i[first, prepared.schedule.planned_column[1][first]]
        low = surface.below(gates.thresholds.takeoff, prepared.schedule.from_place[first], leave)
        assert stays[low].all()
        assert (seen.ends >= low).all()


def test_shares_by_hand():
    prepared = prepare(small_study(trips=2, candidates=1))
    schedule = prepared.schedule
    shape, first = (2, schedule.slots), schedule.first_leg[:-1]
    planned = schedule.planned_slot[first]
    bits, no = np.zeros(shape, dtype=np.uint32), np.zeros(shape, dtype=bool)
    bits[0, planned[0]] = 1                         # the first waits an hour
    bits[1, :] = 1                                  # the second goes at no hour of the first year
    turns = no.copy()
    turns[0, planned[0]] = True
    shut = Outbound(bits, turns, no, np.array([True, False]))
    fair = Outbound(np.zeros(shape, dtype=np.uint32), turns, turns, np.array([False, False]))
    found = _together(prepared.entrants[0], "winter", np.array([True, True]), [shut, fair])
    assert found.shares == (0.75, 0.25, 0.25)       # in the fair year the first turns back at the planned hour
    assert found.ends_share == 0.25
    assert (found.turned_share, found.met_below_per_1000) == (0.5, 500.0)


def test_what_owners_tell_is_that_of_the_region_and_the_rating():
    assert experience("US-NE", instrument=False, winter=True) == "30-45"
    assert experience("US-NE", instrument=True, winter=False) == "7-12"
    assert experience("US-NY", instrument=True, winter=True, protected=True) == "10-18"
    assert experience("US-NY", instrument=True, winter=False, protected=True) == ""
    assert experience("CA-ON", instrument=True, winter=True) == ""
