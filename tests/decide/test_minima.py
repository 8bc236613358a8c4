"""Alternates and diversions against the same answers worked out one at a time."""

from __future__ import annotations

from dataclasses import fields, replace
from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.base.normal import normal_cdf
from missionsim.decide import minima as under_test
from missionsim.decide.alternates import alternate_fuel
from missionsim.decide.gate_plan import ForecastRows, RouteLooks
from missionsim.decide.gate_stack import GateStack, RouteStack
from missionsim.decide.minima import LOOK_BEFORE_H
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of, year_of
from missionsim.world.random_fields.hours import HOURS, NEW_YEAR_INDEX


@pytest.fixture(scope="module")
def prepared():
    return prepare(load_study())


@pytest.fixture(scope="module")
def day(prepared):
    return weather_of(prepared, 1)


def below(surface, gates, place, hour):
    limit = gates.thresholds.landing[place].reshape(-1)[int(surface.climate.cell(place, hour))]
    return bool(surface.latent_at(np.array([place]), np.array([hour]))[0] < limit)


def test_a_diversion_goes_to_the_nearest_alternate_above_minima_and_waits_for_the_first_open_hour(prepared, day):
    surface, schedule = day.sky.surface, prepared.schedule
    seen = set()
    for number, gates in enumerate(prepared.sky.gates[:len(prepared.flyers)]):
        # With a dict to keep weather in, trips that nobody wants are decided on too.
        decisions = year_of(prepared.entrants[number], day, 1, kept={}).decisions
        for leg, slot in np.argwhere(decisions.below).tolist():
            column = int(schedule.looks.column[leg, slot])
            place, arrive = int(schedule.to_place[leg]), int(gates.hours.arrival_i[leg, column])
            assert below(surface, gates, place, arrive)
            near = gates.alternates.place[place]
            open_ = [int(p) for p in near if p >= 0 and not below(surface, gates, int(p), arrive)]
            hours = [h for h in range(1, 13) if not below(surface, gates, place, min(arrive + h, HOURS - 1))]
            expected = open_[0] if open_ else int(schedule.from_place[leg]), float(hours[0]) if hours else 99.0
            assert decisions.diverts.diversion(leg, slot) == expected
            seen |= {bool(open_), bool(hours)}
    assert len(seen) == 2


def test_on_from_an_alternate_one_place_counts_at_departure_and_the_other_on_arrival(prepared, day):
    gates, surface = prepared.sky.gates[0], day.sky.surface
    fair = year_of(prepared.entrants[0], day, 1).decisions.fair
    here, there = (int(prepared.schedule.from_place[0]), int(prepared.schedule.to_place[0]))
    seen = set()
    for time_h in np.arange(0.25, 2000.0, 3.1):
        leaves, arrives = int(time_h) + NEW_YEAR_INDEX, int(time_h + 1.9) + NEW_YEAR_INDEX
        open_ = not below(surface, gates, here, leaves), not below(surface, gates, there, arrives)
        assert fair.lets_through(here, there, float(time_h), 1.9) == all(open_)
        seen.add((*open_, not below(surface, gates, there, leaves)))
    assert {(True, True, False), (True, False, True), (False, True, True)} <= seen


def good_alternate(gates, surface, place, hour, issued, miss):
    """Tell of one alternate whether it is forecast good enough, and seldom below together with the destination."""
    one = [np.array([value]) for value in (place, hour, issued)]
    mean = float(surface.forecast_mean(*one)[0])
    wanted, lowest = (float(t.reshape(len(t), -1)[place, surface.climate.cell(*one[:2])[0]])
                      for t in (gates.thresholds.as_alternate, gates.thresholds.landing))
    sd = max(float(surface.forecast_sd(*one[1:])[0]), 1e-4)
    given = min(1.0, 2.0 * float(normal_cdf((lowest - mean) / sd)))
    return mean > wanted and min(miss, given) * given < gates.risks.both


def test_the_nearest_good_alternate_is_the_first_of_all_that_are_good(prepared, day):
    surface, schedule, forecasts = day.sky.surface, prepared.schedule, day.enroute.forecasts
    found = set()
    for gates in prepared.gate_stack.gates:
        stuck, gal = fuel_of(gates, prepared, day)
        mean, near = gates.ahead.arrival.forecast.of(forecasts), gates.alternates
        asked = ((mean <= gates.limits.poor) | gates.limits.no_approach) & (mean > gates.limits.blocked) & gates.open_
        assert not (stuck | (gal > 0.0))[~asked].any()
        for leg, slot in np.argwhere(asked)[::7].tolist():
            place, arrive = int(schedule.to_place[leg]), int(gates.hours.arrival_i[leg, slot])
            miss = float(normal_cdf((gates.limits.landing[leg, slot] - mean[leg, slot])
                                    / gates.ahead.arrival.sd[leg, slot]))
            good = [k for k, other in enumerate(near.place[place].tolist()) if other >= 0 and good_alternate(
                gates, surface, other, min(arrive + int(near.hours[place, k]), HOURS - 1),
                int(gates.hours.departure_i[leg, slot]) - LOOK_BEFORE_H, miss)]
            expected = (False, float(near.gal[place, good[0]])) if good else (True, 0.0)
            assert (bool(stuck[leg, slot]), float(gal[leg, slot])) == expected
            found.add(good[0] if good else -1)
    assert len(found) > 3


def fuel_of(gates, prepared, day):
    """Return where one candidate is stuck without an alternate and the fuel to one, [leg, column], held by itself."""
    stack = GateStack.of([gates], prepared.schedule, prepared.sky.asked_hours.index, prepared.sky.climate)
    fuel = alternate_fuel(stack, day.sky.surface, day.enroute.forecasts.take(stack.forecast))
    hours = prepared.schedule.looks.hours
    return [hours.columns(values[0].reshape(hours.column.shape)) for values in (fuel.stuck, fuel.gal)]


def test_what_a_forecast_may_be_off_is_looked_up_by_lead_and_day(prepared, day, rng):
    lists, hour = prepared.gate_stack.alternates, rng.integers(0, HOURS, 500)
    lead = rng.integers(0, len(lists.sd), 500)
    np.testing.assert_array_equal(lists.forecast_sd(hour, hour - lead), day.sky.surface.forecast_sd(hour, hour - lead))


def test_all_candidates_held_against_weather_at_once_see_what_each_sees(prepared, day):
    schedule, forecasts = prepared.schedule, day.enroute.forecasts
    for gates in prepared.sky.gates:
        held = day.sky.held_against(gates, schedule, forecasts)
        alone = day.sky.held_against(replace(gates), schedule, forecasts)    # of nobody who was known beforehand
        assert held.stack is prepared.gate_stack
        assert len(alone.stack.gates) == 1
        for part in fields(held.view):
            one, other = (getattr(of.view, part.name) for of in (held, alone))
            np.testing.assert_array_equal(one[held.number], other[0])


def test_an_aircraft_with_its_autopilot_out_has_the_gates_it_had(prepared):
    twins = [(number, flyer.standby.gate_row) for number, flyer in enumerate(prepared.flyers) if flyer.standby]
    assert all(prepared.sky.gates[own] is prepared.sky.gates[twin] for own, twin in twins)
    assert len(prepared.gate_stack.gates) == len(prepared.flyers) < len(prepared.sky.gates)


def test_the_chance_of_any_of_several_events_lies_between_independence_and_the_worst(rng):
    chance = rng.uniform(0.0, 0.3, (50, 6))
    apart, alike = under_test.any_of(chance, 0.0), under_test.any_of(chance, 1.0)
    np.testing.assert_allclose(apart, np.minimum(1.0 - np.prod(1.0 - chance, axis=1), chance.sum(axis=1)), rtol=1e-9)
    np.testing.assert_array_equal(alike, chance.max(axis=1))
    # Two events with one common cause, by drawing it: four standard errors of 200,000 draws.
    common, own = rng.standard_normal((1, 200_000)), rng.standard_normal((2, 200_000))
    limit = np.array([[-1.0], [-0.5]])
    below = (np.sqrt(0.5) * common + np.sqrt(0.5) * own < limit).any(axis=0).mean()
    found = under_test.any_of(np.array([[0.15865525393, 0.30853753872]]), 0.5)[0]
    assert abs(found - below) < 4.0 * np.sqrt(0.25 / 200_000)


class Nowhere:
    """Surface weather in which every alternate is open but place 8."""

    climate = SimpleNamespace(cell=lambda place, _: np.zeros(len(place), dtype=int))

    def latent_at(self, place, hour):
        assert (np.asarray(hour) == 5).all()
        return np.where(np.asarray(place) == 8, -1.0, 1.0)


def ends_of(seen, met, night=False, alternates=(8, 9), side=None, goes=True):
    """Return where a flight over three points ends, and whether it met too little; own minimum 0, the law's -1."""
    values = np.array([*seen, *met], dtype=float)
    one, nothing, limit = np.zeros(1, dtype=np.int64), np.full((1, 1, 3), -1), np.zeros((1, 3, 3))
    beside = np.full((1, 3, 2), -1 if side is None else 6)
    seen_rows, met_rows = (ForecastRows(np.concatenate([np.array(rows).reshape(1, 3, 1), beside], axis=2))
                           for rows in ([0, 1, 2], [3, 4, 5]))
    values = np.append(values, 0.0 if side is None else side)
    looks = RouteLooks(one, one, ForecastRows(nothing), limit[:, :1], limit[:, :1] + 1.0, seen_rows, met_rows, limit,
                       limit, limit - 1.0, np.array([[0.2, 0.5, 0.8]]), np.full(1, 0.5), np.array([night]))
    stack = SimpleNamespace(from_place=np.array([2]), to_place=np.array([3]), takeoff=np.zeros((1, 1)),
                            arrival_i=np.array([[5]]), alternates=SimpleNamespace(
                                place=np.array([[[-1, -1]] * 3 + [list(alternates)]]), landing=np.zeros((1, 10, 1))))
    ways = RouteStack.of([looks], one, 0.5)
    ends, met_below = under_test._ends(stack, ways, Nowhere(), values, np.full(1, goes))
    return int(ends[0, 0]), bool(met_below[0, 0])


@pytest.mark.parametrize(("seen", "met", "night", "expected"), [
    ((1, 1, 1), (1, 1, 1), False, (0, False)),          # fair all the way
    ((-2, 1, 1), (1, 1, 1), False, (3, False)),         # low ahead before the first point: back to place 2
    ((1, 1, -2), (1, 1, 1), False, (10, False)),        # low ahead beyond half way: place 9, the open alternate
    ((1, 1, 1), (1, -0.5, 1), False, (3, False)),       # under the own minimum half way, above the law's: back
    ((1, 1, 1), (1, 1, -2), False, (10, True)),         # closed before it was reached: met, and broken off
    ((1, 1, -2), (1, 1, -2), False, (10, False)),       # the same, seen in time
    ((-2, -2, -2), (1, 1, 1), True, (0, False)),        # by night nothing is seen ahead
    ((-2, -2, -2), (1, -2, 1), True, (3, True))])       # so that it is met
def test_a_visual_flight_goes_as_far_as_its_minimum_is_seen_to_hold(seen, met, night, expected):
    assert ends_of(seen, met, night) == expected
    assert ends_of(seen, met, night, goes=False) == (0, False)      # who never left ends nowhere


def test_low_weather_between_fair_points_is_gone_round():
    assert ends_of((1, -2, 1), (1, -2, 1), side=0.5) == (0, False)
    assert ends_of((1, -2, 1), (1, -2, 1), side=-0.5) == (3, False)


def test_with_every_alternate_shut_a_visual_flight_goes_back():
    assert ends_of((1, 1, -2), (1, 1, 1), alternates=(8, -1)) == (3, False)
