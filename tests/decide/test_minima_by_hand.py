"""Ceilings, visibility, alternates and looks along the way, each decision worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.normal import normal_cdf
from missionsim.base.words import BIT, Reason
from missionsim.decide import minima as under_test
from missionsim.decide.alternates import alternate_fuel
from missionsim.decide.gate_plan import ForecastKeys, ForecastRows, RouteLooks
from missionsim.decide.gate_stack import GateStack, RouteStack, _where_there
from missionsim.decide.minima import AlternateFuel, ahead_limit, any_of, look
from missionsim.flight.minima import VisualMinimum
from missionsim.year.looked_slots import LookedSlots

A = packaged_assumptions()
CEILING, VISIBILITY = BIT[Reason.CEILING], BIT[Reason.VISIBILITY]
SD_BELOW = 0.158655254          # a normal value lies more than one standard deviation below its mean so often


def climate(ceiling_ft=800.0, visibility_sm=6.0):
    """One weather at both places whatever the rank."""
    return SimpleNamespace(assumptions=A, cell=lambda place, _: np.zeros(len(place), dtype=int), rank=lambda _: 0,
                           ceiling_ft=np.full((2, 1, 1), ceiling_ft), visibility_sm=np.full((2, 1, 1), visibility_sm),
                           thresholds=lambda *wanted: wanted)


@pytest.mark.parametrize(("own", "ridge_ft", "plain_ft", "high_sm"), [
    ((1500.0, 4.0), 2000.0, 1500.0, 5.0), ((3000.0, 7.0), 3000.0, 3000.0, 7.0)])
def test_the_way_wants_the_own_minimum_more_over_a_pass_and_more_visibility_up_high(own, ridge_ft, plain_ft, high_sm):
    found = under_test._on_the_way(A, lambda *wanted: wanted, own, np.array([False, True]))
    assert [part.tolist() for part in found["route"]] == [[plain_ft, ridge_ft], [own[1]] * 2]
    assert [part.tolist() for part in found["route_high"]] == [[plain_ft, ridge_ft], [high_sm] * 2]
    assert [part.tolist() for part in found["legal"]] == [[1000.0] * 2, [3.0] * 2]
    assert [part.tolist() for part in found["legal_high"]] == [[1000.0] * 2, [5.0] * 2]


def test_the_forecast_under_which_a_chance_is_too_great_lies_above_the_limit():
    assert float(ahead_limit(1.0, 0.5, SD_BELOW)) == pytest.approx(1.5)
    assert float(ahead_limit(1.0, 0.5, 0.5)) == pytest.approx(1.0)


def leg_of_one_hour(*, is_open=True, forecast_sd=1.0, instrument=True, both=1.0, **limits):
    """Return the gates of a leg from place 0 to 1, stacked; hour 0 of its one block counts, hour 1 is always open.

    It leaves at hour 10 and arrives at 12. Of its alternates, places 1 and 2, one more hour away, fuel is 5 and 9 gal.
    """
    looks = LookedSlots.of(np.array([[is_open, True, False]]))
    whole, leg = np.zeros((1, 3)), np.full(1, -9.0)
    told = SimpleNamespace(forecast=ForecastRows(np.zeros((1, 3), dtype=int)), sd=whole + forecast_sd)
    long = SimpleNamespace(forecast=ForecastRows(np.zeros(1, dtype=int)))
    every = {"takeoff": -9.0, "landing": -9.0, "poor": -9.0, "blocked": -9.0, "no_approach": 0.0} | limits
    gates = SimpleNamespace(
        open_=looks.open_, instrument=instrument, route_looks=None, takeoff=VisualMinimum(1200.0, 4.0),
        landing=SimpleNamespace(ceiling_ft=np.full(3, 1200.0)), risks=SimpleNamespace(both=both),
        limits=SimpleNamespace(**{name: whole + value for name, value in every.items()}, long_arrival=leg,
                               long_departure=leg),
        hours=SimpleNamespace(departure_i=(whole + 10).astype(int), departure_at=np.zeros((1, 3), dtype=int),
                              arrival_i=(whole + 12).astype(int), arrival_at=np.ones((1, 3), dtype=int)),
        ahead=SimpleNamespace(arrival=told, long_arrival=long, long_departure=long),
        thresholds=SimpleNamespace(as_alternate=np.zeros((3, 1)), landing=np.zeros((3, 1))),
        alternates=SimpleNamespace(place=np.array([[-1, -1], [1, 2], [-1, -1]]), hours=np.ones((3, 2), dtype=int),
                                   gal=np.tile([5.0, 9.0], (3, 1))))
    schedule = SimpleNamespace(looks=looks, from_place=np.array([0]), to_place=np.array([1]))
    sd = SimpleNamespace(sd=lambda valid, issued: np.ones(np.broadcast(valid, issued).shape))
    return GateStack.of([gates], schedule, np.arange(2), SimpleNamespace(latent_plan=sd))


def looked(*, here, there, forecast, is_open=True):
    """Return what is said of a leg from place 0 to 1: take-off from 0.2, landing 0.4, put off under a forecast of 0."""
    stack = leg_of_one_hour(is_open=is_open, takeoff=0.2, landing=0.4, blocked=0.0)
    fuel = AlternateFuel(np.zeros((1, 3), dtype=bool), np.zeros((1, 3)))
    forecasts = np.array([forecast])
    return look(stack, SimpleNamespace(climate=climate()), np.array([here, there]), forecasts,
                forecasts.take(stack.forecast), fuel)


@pytest.mark.parametrize(("weather", "reasons", "below"), [
    ({"here": 0.3, "there": 0.5, "forecast": 0.1}, 0, False),           # above all minima
    ({"here": 0.1, "there": 0.5, "forecast": 0.1}, CEILING, False),     # below take-off minima
    ({"here": 0.3, "there": 0.5, "forecast": 0.0}, CEILING, False),     # too doubtful, though it turned out well
    ({"here": 0.3, "there": 0.3, "forecast": 0.1}, 0, True),            # went, and found it below
    ({"here": 0.1, "there": 0.3, "forecast": 0.1}, CEILING, False),     # who never left meets nothing
    ({"here": 0.1, "there": 0.3, "forecast": 0.0, "is_open": False}, 0, False)])
def test_departure_forecast_and_arrival_by_hand(weather, reasons, below):
    view = looked(**weather)
    assert (int(view.reasons[0, 0]), bool(view.below[0, 0])) == (reasons, below)


@pytest.mark.parametrize(("ceiling_ft", "visibility_sm", "said"), [
    (800.0, 6.0, CEILING), (800.0, 2.0, CEILING), (3000.0, 2.0, VISIBILITY), (3000.0, 6.0, CEILING)])
def test_visibility_is_blamed_only_under_a_ceiling_that_is_high_enough(ceiling_ft, visibility_sm, said):
    reasons, one = np.zeros((1, 2), dtype=np.uint32), np.ones(1, dtype=int)
    under_test._mark(reasons, (one - 1, one), climate(ceiling_ft, visibility_sm), one, one, np.zeros(1),
                     np.array([1200.0]))
    assert reasons.tolist() == [[0, said]]


class Forecast:
    """Two alternates, places 1 and 2: good only in a forecast issued at hour 9; the first opens later."""

    climate = climate()

    def __init__(self, first=1.0, second=1.0):
        self.of = np.array([np.nan, first, second])

    def forecast_mean(self, place, hour, issued):
        return np.where(issued == 9, self.of[place], -9.0)


def alternate_of(surface, *, mean=0.0, no_approach=False, both=1.0, landing=-1.0, instrument=True):
    """Return the fuel carried for an alternate by a leg that leaves at hour 10, and whether it is stuck without one."""
    stack = leg_of_one_hour(poor=0.5, no_approach=no_approach, landing=landing, instrument=instrument, both=both)
    fuel = alternate_fuel(stack, surface, np.full((1, 3), mean))
    assert not fuel.gal[0, 2]           # an hour nobody looks at
    return float(fuel.gal[0, 0]), bool(fuel.stuck[0, 0])


def test_for_legs_nobody_wants_to_fly_no_alternate_is_looked_for():
    stack, mean = leg_of_one_hour(poor=0.5, landing=-1.0, both=1.0), np.zeros((1, 3))
    for asked, gal in ((np.array([True, True, True]), 5.0), (np.array([False, True, True]), 0.0)):
        assert alternate_fuel(stack, Forecast(), mean, asked).gal[0, 0] == gal


@pytest.mark.parametrize(("surface", "asked", "expected"), [
    (Forecast(), {}, (5.0, False)),                                 # poor forecast: the nearest
    (Forecast(), {"mean": 0.6}, (0.0, False)),                      # fair forecast: none is required
    (Forecast(), {"mean": -9.0}, (0.0, False)),                     # so poor that nobody leaves
    (Forecast(), {"instrument": False}, (0.0, False)),              # under visual rules none is
    (Forecast(), {"mean": 0.6, "no_approach": True}, (5.0, False)),     # without an approach whatever is forecast
    (Forecast(first=-0.1), {}, (9.0, False)),                       # the nearest is forecast too low
    (Forecast(first=-0.1, second=-0.1), {}, (0.0, True))])          # both are
def test_an_alternate_is_named_where_one_is_required_and_good_an_hour_before(surface, asked, expected):
    assert alternate_of(surface, **asked) == expected


@pytest.mark.parametrize(("landing", "stuck"), [(-2.0, False), (0.0, True)])
def test_an_alternate_that_fails_together_with_the_destination_is_none(landing, stuck):
    # Either alternate is below one time in 6.3, twice that when the destination is. The destination is below one time
    # in 44 (two standard deviations) or in 2: both together 0.72 or 10 of 100, where 5 are accepted.
    assert alternate_of(Forecast(), landing=landing, both=0.05)[1] is stuck


@pytest.mark.parametrize(("alike", "bad"), [(1.0, False), (0.0, True)])
def test_two_doubtful_points_of_a_way_count_as_they_go_together(alike, bad):
    # Three in ten each: together three in ten where they fail together, 51 in a hundred where each by itself.
    limit, rows = np.full((1, 2, 3), -0.5244005), np.array([[[0, -1, -1], [0, -1, -1]]])
    limit[:, :, 1:] = -9.0      # fair weather beside a point helps only where there is a way round
    assert under_test._route_below(way_of(rows, limit, 0.5, alike), np.zeros(1)).tolist() == [bad]


def way_of(rows, limit, risk, alike):
    """Return one look along points [look, point, side], the same before setting out and on the way."""
    named, share, many = ForecastRows(rows), np.zeros(rows.shape[:2]), len(rows)
    first = np.zeros(many, dtype=int)
    looks = RouteLooks(first, first, named, limit, np.ones((*rows.shape[:2], 1)), named, named, limit, limit, limit,
                       share, np.full(many, risk), np.zeros(many, dtype=bool))
    return RouteStack.of([looks], first, alike)


def test_looks_without_doubt_are_those_whose_worst_point_however_often_is_no_risk(rng):
    rows = np.tile(np.arange(5)[None, :, None], (400, 1, 1))
    limit = rng.normal(-2.6, 0.7, rows.shape)
    ways, forecasts = way_of(rows, limit, 0.07, 0.0), np.zeros(5)
    chance = normal_cdf(limit[:, :, 0])
    expected = np.where(chance.max(axis=1) >= 0.07, True, any_of(chance, 0.0) >= 0.07)
    found = under_test._route_below(ways, forecasts)
    assert (found == expected).all()
    assert 50 < found.sum() < 350
    assert (limit[:, :, 0].max(axis=1) < ways.doubt).sum() > 50


def test_looks_that_several_aircraft_take_are_looked_at_once(rng):
    rows = np.tile(np.arange(5)[None, :, None], (40, 1, 1))
    limit = rng.normal(-2.6, 0.7, rows.shape)
    first, named, share = np.zeros(40, dtype=int), ForecastRows(rows), np.zeros((40, 5))
    other_limit = np.where(np.arange(40)[:, None, None] < 30, limit, limit + 0.5)       # ten are not the same
    one, other = (RouteLooks(first, first, named, own, np.ones((40, 5, 1)), named, named, limit, limit, limit, share,
                             np.full(40, 0.07), np.zeros(40, dtype=bool)) for own in (limit, other_limit))
    both = RouteStack.of([one, other], np.arange(80), 0.0)
    assert len(both.doubt) == 50
    found = under_test._route_below(both, np.zeros(5)).take(both.look)
    alone = [under_test._route_below(RouteStack.of([looks], np.arange(40), 0.0), np.zeros(5)) for looks in (one, other)]
    assert (found == np.concatenate(alone)).all()


def test_forecasts_keep_their_place_when_only_some_are_kept_and_none_stays_none():
    kept = np.array([3, 7, 9])
    assert ForecastRows(np.array([[9, -1], [3, 7]])).among(kept).row.tolist() == [[2, -1], [0, 1]]
    assert ForecastKeys(np.array([[9, -1], [3, 7]])).among(kept).row.tolist() == [[2, -1], [0, 1]]


def test_a_point_that_is_none_is_never_low_and_a_side_that_is_none_never_helps():
    """A look of three points: one with a way to either side, one without, and one that only fills the row."""
    rows = np.array([[[4, 7], [5, -1], [-1, -1]]])
    limit = _where_there(rows, np.full(rows.shape, 0.5, dtype=np.float32))
    assert limit.tolist() == [[[0.5, 0.5], [0.5, np.inf], [-np.inf, np.inf]]]
    worst = np.full(rows.shape, -9.0)     # weather below any minimum, at every point and side
    assert (worst < limit).all(axis=2).tolist() == [[True, True, False]]
