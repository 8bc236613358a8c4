"""Decisions some hours ahead, held against the weather that came: calibrated, consistent, and worse the earlier."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.study.compare.compare import compare
from missionsim.study.compare.forecast_skill import (
    COUNTS,
    _Ends,
    _judged,
    _Way,
    _way,
    counted,
    forecast_skills,
    hours_before,
)
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of
from missionsim.world.random_fields.hours import hour_index

YEARS = 60
BEFORE_H = (0, 1, 3, 6, 12, 24)
ROW = {name: i for i, name in enumerate(COUNTS)}


def ready(rating="instrument"):
    study = load_study()
    pilot = study.pilot.model_copy(update={"rating": rating})
    return prepare(replace(study, pilot=pilot, candidates=study.candidates[1:3]))


@pytest.fixture(scope="module", params=["instrument", "visual"])
def prepared(request):
    return ready(request.param)


@pytest.fixture(scope="module")
def sums(prepared):
    return counted(prepared, range(YEARS), BEFORE_H)


def test_weather_below_minima_comes_as_often_as_the_forecasts_said_among_legs_gone(sums):
    # Legs of a year share its weather, so years are what is independent; a year's surprise has mean zero.
    for before in range(1, len(BEFORE_H)):
        missed, expected = (sums[:, :, before, ROW[name]] for name in ("missed", "expected"))
        surprise = missed - expected
        error = surprise.std(axis=0, ddof=1) / np.sqrt(YEARS)
        assert (np.abs(surprise.mean(axis=0)) < 4.0 * error).all()
        assert (missed.sum(axis=0) > 50).all()  # enough of them for the check to be able to fail
        assert (4.0 * error < 0.35 * expected.mean(axis=0)).all()


def test_every_leg_is_in_one_of_four_boxes(sums):
    legs, below, stop, needless, wrong, arrival, missed = (sums[..., ROW[n]] for n in COUNTS[:7])
    assert (below == wrong + (stop - needless)).all()     # below minima: gone wrongly or put off rightly
    assert (below == below[:, :, :1]).all()               # whatever was decided
    assert (arrival <= wrong).all()
    assert (missed <= 2 * wrong).all()      # of the ends alone: wrongly gone is also who met a low way
    assert (stop + wrong <= legs).all()


def test_the_weather_is_what_the_year_itself_meets(prepared, sums):
    schedule, plan, gates = prepared.schedule, prepared.flyers[0].plan, prepared.sky.gates[0]
    surface = weather_of(prepared, 3).sky.surface
    leave = hour_index(schedule.start_h + schedule.planned_slot)
    arrive = hour_index(schedule.start_h + schedule.planned_slot + plan.times.nominal_block_h)
    below = surface.below(gates.thresholds.takeoff, schedule.from_place, leave)
    below |= surface.below(gates.thresholds.landing, schedule.to_place, arrive)
    ways = _way(prepared.entrants[0])
    assert gates.instrument or len(ways.leg) == len(below)
    if ways is not None:
        looks, forecasts = gates.route_looks, weather_of(prepared, 3).enroute.forecasts
        # What a way is met with when a point is passed, at the few points where a pilot looks.
        there = looks.met.row >= 0
        low = ((looks.met.of(forecasts) < looks.met_limit) | ~there).all(axis=2) & there[:, :, 0]
        planned = (looks.slot == schedule.planned_column[1][looks.leg]) & np.isin(looks.leg, ways.leg)
        below[looks.leg[planned & low.any(axis=1)]] = True
        assert below.sum() <= sums[3, 0, 0, ROW["below"]] < len(below)    # all points are looked at here
        return
    assert sums[3, 0, 0, ROW["below"]] == below.sum() > 0


def test_later_decisions_are_better_ones(sums):
    rates = sums.sum(axis=0)
    wrong = rates[..., ROW["false_go"]] + rates[..., ROW["false_stop"]]
    assert (np.diff(wrong, axis=1) > 0).all()


@pytest.mark.parametrize(("at_departure", "at_arrival", "put_off"), [
    (1.0, 1.0, 0), (-1.0, 1.0, 1), (1.0, -1.0, 1), (-1.0, -1.0, 1)])    # either end alone puts a leg off
def test_a_leg_is_put_off_for_either_end(at_departure, at_arrival, put_off):
    one = np.array([[0], [1]])
    ends = _Ends(one, np.full((2, 1), 100), np.zeros((2, 1)), np.array([100]), np.array([[0.5], [0.5]]))
    values = np.array([at_departure, at_arrival])

    class Field:
        plan = type("Plan", (), {"sd": staticmethod(lambda hour, issued: np.ones((1, 2, 1)))})

        def value(self, place, hour):
            return np.ones((2, 1))

        def mean(self, place, hour, issued):
            return values[np.broadcast_to(place, (1, 2, 1))]

    found = _judged(ends, Field(), np.array([1]))[0]
    assert found[ROW["put_off"]] == put_off
    assert found[ROW["below"]] == 0


def test_shares_are_the_sums_and_the_assumptions_say_what_is_looked_at(prepared):
    a = prepared.study.assumptions.replaced({"statistics.decided_before_replications": 2,
                                             "statistics.decided_before_h": [1, 2.2, 6, 6.3, 48]})
    other = replace(prepared, study=replace(prepared.study, assumptions=a))
    found = forecast_skills(other, 100)
    names = [f.candidate.name for f in prepared.flyers]
    assert [(h.candidate, h.before_h) for h in found] == [(n, h) for n in names for h in (1, 2, 6, 48)]
    sums = counted(prepared, range(2), [6]).sum(axis=0)[1, 0]
    six = found[6]
    assert six.legs == 2 * len(prepared.schedule.trip)
    assert six.put_off_share == sums[ROW["put_off"]] / six.legs
    assert six.false_go_share == sums[ROW["false_go"]] / six.legs
    none = replace(prepared, study=replace(prepared.study, assumptions=a.replaced(
        {"statistics.decided_before_replications": 0})))
    assert forecast_skills(none, 100) == ()
    assert forecast_skills(other, 1)[0].legs == len(prepared.schedule.trip)
    assert hours_before([24, 1.4, -3]) == [0, 1, 24]


def test_a_comparison_brings_it_along_and_flies_the_same_without():
    study = load_study()
    few = replace(study.listed, trips=study.listed.trips[:3])
    study = replace(study, listed=few, candidates=study.candidates[:2])
    without = replace(study, assumptions=study.assumptions.replaced({"statistics.decided_before_replications": 0}))
    found, plain = compare(study, 2), compare(without, 2)
    assert len(found.decided_before) == 2 * 5
    assert plain.decided_before is None
    assert [r.tally.table.tobytes() for r in found.results] == [r.tally.table.tobytes() for r in plain.results]


class Sky:
    """Three legs whose ends lie below minima at neither, one and both ends, all forecast as fair."""

    @property
    def plan(self):
        return self

    @staticmethod
    def sd(*_):
        return np.full((1, 1, 3), 0.01)

    @staticmethod
    def value(_place, _hour):
        return np.array([[1.0, -1.0, -1.0], [1.0, 1.0, -1.0]])

    @staticmethod
    def mean(_place, _hour, _issued):
        return np.ones((1, 2, 3))


def test_a_leg_gone_wrongly_counts_once_however_many_ends_are_below():
    nothing = np.zeros((2, 3), dtype=np.int64)
    ends = _Ends(nothing, nothing, np.zeros((2, 3)), nothing[0], np.array([[0.5], [0.2]]))
    found = dict(zip(COUNTS, _judged(ends, Sky(), np.array([1]))[0].tolist(), strict=True))
    assert (found["legs"], found["below"], found["put_off"]) == (3, 2, 0)
    assert (found["false_go"], found["false_go_arrival"], found["missed"]) == (2, 0, 3)


class WaySky:
    """Two ways of two points with sides: low all round at the second point of the first; gone round on the other."""

    TRUE = np.array([[[1.0, 1.0, 1.0], [-1.0, -1.0, -1.0]], [[1.0, 1.0, 1.0], [-1.0, 1.0, -1.0]]])
    SAID = np.array([[[1.0, 1.0, 1.0], [1.0, 1.0, 1.0]], [[1.0, 1.0, 1.0], [-1.0, -1.0, -1.0]]])

    @property
    def plan(self):
        return self

    @staticmethod
    def sd(valid, issued):
        return np.full(np.broadcast(valid, issued).shape, 0.01)

    def value(self, place, _hour):
        return self.TRUE.ravel()[place]

    def mean(self, place, _valid, issued):
        return np.broadcast_to(self.SAID.ravel()[place], issued.shape)


def test_a_way_counts_where_it_is_low_and_cannot_be_gone_round():
    place = np.arange(12).reshape(2, 2, 3)
    way = _Way(np.array([1, 0]), place, place, np.ones(place.shape, dtype=bool), np.zeros(place.shape),
               np.array([0.5, 0.5]), 0.6)
    assert way.below(WaySky()).tolist() == [True, False]
    assert way.stops(WaySky(), np.array([9, 9]), np.array([1, 6])).tolist() == [[False, True], [False, True]]
    # The sides of the second way are no sample points: its middle alone decides, and padding never does.
    alone = replace(way, there=np.array([[[True] * 3] * 2, [[True, True, True], [True, False, False]]]))
    assert alone.below(WaySky()).tolist() == [True, True]
    none = replace(way, there=np.array([[[True] * 3, [False] * 3]] * 2))
    assert none.below(WaySky()).tolist() == [False, False]
    assert not none.stops(WaySky(), np.array([9, 9]), np.array([1])).any()
