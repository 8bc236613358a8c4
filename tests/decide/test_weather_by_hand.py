"""What weather says, worked out by hand: wind and gusts, ice in thick layers, storms at the ends, alternates."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.words import BIT, Reason
from missionsim.decide import alternates, leg_weather
from missionsim.decide.candidate_plan import Directions
from missionsim.decide.enroute_weather import FreezingLayer, cloud_levels, enroute_of, icing_levels, storm_bits
from missionsim.decide.leg_weather import GatesHeld

A = packaged_assumptions()


def one_hour():
    """Return hours looked at of which there is one; its block has no other."""
    first = np.zeros(1, dtype=int)
    return SimpleNamespace(leg=first, air=first, column=first[:, None], number=first[:, None],
                           of_columns=lambda values: values)


def wind_bits(plan, ends, here):
    """Return the bits of a leg between two fields alike, in the wind of one hour at both."""
    sky, one = SimpleNamespace(here=here, windy=lambda rules: leg_weather.own_wind(here, rules)), np.zeros((1, 1), int)
    return leg_weather._wind_bits(plan, SimpleNamespace(from_ends=ends, to_ends=ends), one_hour(), sky, one, one)


@pytest.mark.parametrize(("mean_kt", "gust_kt", "closed"), [
    (10.0, 22.0, False), (10.0, 22.1, True),        # a spread of 12 kt and a little more
    (20.0, 28.0, False), (20.0, 28.1, True)])       # 28 kt in all and a little more
def test_gusts_close_an_hour_by_their_spread_and_by_their_strength(mean_kt, gust_kt, closed):
    rules = SimpleNamespace(max_wind_kt=28.0, max_gust_spread_kt=12.0, tolerance_share=0.0)
    plan = SimpleNamespace(pilot=SimpleNamespace(rules=rules), runways=SimpleNamespace(crosswind_limit_kt=12.0))
    ends = Directions.of(np.array([[360.0]]))
    # From the north along the only runway: nothing across it.
    here = SimpleNamespace(mean_kt=np.array([mean_kt]), gust_kt=np.array([gust_kt]), east_kt=np.zeros(1),
                           north_kt=np.array([-mean_kt]))
    bits, _ = wind_bits(plan, ends, here)
    assert bool(bits[0, 0] & BIT[Reason.WIND]) is closed


@pytest.mark.parametrize(("gust_kt", "across_kt", "wind", "marginal"), [
    (30.0, 0.0, False, False), (30.8, 0.0, False, True), (31.0, 0.0, True, False),      # 30 kt and 3 %: 30.9
    (30.8, 12.1, True, False)])         # the crosswind is the flight manual's: no tolerance, and no mark beside it
def test_wind_over_the_own_limit_within_its_tolerance_is_marginal(gust_kt, across_kt, wind, marginal):
    rules = SimpleNamespace(max_wind_kt=30.0, max_gust_spread_kt=12.0, tolerance_share=0.03)
    plan = SimpleNamespace(pilot=SimpleNamespace(rules=rules), runways=SimpleNamespace(crosswind_limit_kt=12.0))
    ends = Directions.of(np.array([[360.0]]))
    here = SimpleNamespace(mean_kt=np.array([25.0]), gust_kt=np.array([gust_kt]), east_kt=np.array([across_kt]),
                           north_kt=np.array([-20.0]))
    bits, near = wind_bits(plan, ends, here)
    assert (bool(bits[0, 0]), bool(near[0, 0])) == (wind, marginal)


@pytest.mark.parametrize(("field_ft", "base_ft", "level_ft", "layer_ft"), [
    (6000.0, 2000.0, 8000.0, 2000.0),       # cloud from the field at 6,000 ft to 8,000
    (4000.0, 5500.0, 8000.0, 2500.0),       # from its base at 5,500
    (0.0, 2000.0, 5000.0, 3000.0),          # as far as the level, not as far as the top
    (0.0, 2000.0, 12_000.0, 7000.0)])       # to the top
def test_a_layer_counts_from_the_field_or_its_base_to_the_level(field_ft, base_ft, level_ft, layer_ft):
    # 15 degrees colder than standard: freezing from the ground on, too cold to ice above 10,101 ft.
    low_ft, high_ft = FreezingLayer.of(np.array([-15.0]), A).cloud_ft(
        np.array([base_ft]), np.array([9000.0]), np.array([field_ft]))
    assert min(float(high_ft[0]), level_ft) - float(low_ft[0]) == pytest.approx(layer_ft)


@pytest.mark.parametrize(("base_ft", "top_ft", "deviation_c", "crosses", "closed"), [
    (4000.0, 9000.0, -15.0, True, True),        # 5,000 ft of ice on the way to clear air
    (6500.0, 9000.0, -15.0, True, False),       # 2,500: no more than the 3,000 ft that are crossed
    (6500.0, 9000.0, -15.0, False, True),       # by whoever crosses any
    (4000.0, 9000.0, 10.0, True, False)])       # freezing from 12,600 ft on: rain
def test_a_level_in_the_clear_is_closed_by_a_thick_layer_below_it(base_ft, top_ft, deviation_c, crosses, closed):
    assert iced(base_ft, top_ft, deviation_c, level_ft=12_000.0, crosses=crosses) is closed


def iced(base_ft, top_ft, deviation_c, level_ft, crosses=True):
    """Tell whether ice closes the one level of a flight between fields at sea level; cloud is alike all the way."""
    one = np.zeros(1, dtype=np.int64)
    plan = SimpleNamespace(
        assumptions=A, equipment=SimpleNamespace(ice_approved=False, crosses_thin_ice=crosses),
        cells=SimpleNamespace(leg=one, slot=one, row=one),
        table=SimpleNamespace(rows=SimpleNamespace(levels_ft=np.full((1, 1), level_ft), from_ft=np.zeros(1),
                                                   to_ft=np.zeros(1))))
    base_ft, top_ft = (np.array([[limit_ft]]) for limit_ft in (base_ft, top_ft))
    enroute = SimpleNamespace(ices=np.ones((1, 1), dtype=bool), levels=cloud_levels(base_ft, top_ft)[:, None],
                              cell=np.zeros((1, 1), dtype=int), base_ft=base_ft, top_ft=top_ft)
    found = icing_levels(plan, enroute, one, SimpleNamespace(isa_deviation_c=np.array([[deviation_c]])))
    return bool(found[0, 0])


@pytest.mark.parametrize(("line", "ends", "stops"), [(0.0, 0.0, False), (1.0, 0.0, True), (0.0, 1.0, True)])
def test_a_line_of_storms_or_storms_at_either_end_mean_waiting(line, ends, stops):
    enroute = SimpleNamespace(line_share=np.array([[line]]), end_coverage=np.array([[ends]]),
                              mean_coverage=np.zeros((1, 1)))
    plan = SimpleNamespace(assumptions=A, equipment=SimpleNamespace(weather_on_board=True))
    bits, detour = storm_bits(plan, enroute, np.zeros(1, dtype=int), one_hour())
    assert bool(bits[0] & BIT[Reason.THUNDERSTORM]) is stops
    assert detour.tolist() == [0.0]


def test_an_alternate_is_below_twice_as_often_when_the_destination_is():
    assert alternates._given_miss(np.array([0.1, 0.3, 0.7])).tolist() == pytest.approx([0.2, 0.6, 1.0])


def weather_said(monkeypatch, *, falls_at=(), storm=0, below=True, night_rated=True, dark=False):
    """Return what is said of one leg that leaves place row 0 and arrives at row 1, given where freezing rain falls."""
    one = np.zeros((1, 1), dtype=np.uint32)
    view = SimpleNamespace(reasons=one, visual_reasons=one, below=one + below == 1, alternate_gal=np.zeros((1, 1)),
                           bad_ahead=np.zeros((1, 1), dtype=bool), ends=None, met_below=None)
    monkeypatch.setattr(leg_weather, "storm_bits", lambda *_: (one[0] + np.uint32(storm), np.zeros(1)))
    monkeypatch.setattr(leg_weather, "_wind_bits", lambda *_: (one, one))
    monkeypatch.setattr(leg_weather, "icing_levels", lambda *_: None)
    first = np.zeros(1, dtype=int)
    held = GatesHeld(SimpleNamespace(departure_at=first, arrival_at=first[None] + 1), 0, view, (1, 1))
    sky = SimpleNamespace(here=None, freezing=np.isin([0, 1], falls_at), surface=None, held_against=lambda *_: held)
    gates = SimpleNamespace(way=None, thresholds=SimpleNamespace(landing=None), route_looks=None)
    plan = SimpleNamespace(pilot=SimpleNamespace(rules=SimpleNamespace(night=night_rated)), assumptions=A)
    schedule = SimpleNamespace(planned_column=(first, first), looks=SimpleNamespace(hours=one_hour()))
    return leg_weather.leg_weather(plan, gates, SimpleNamespace(dark=np.full((1, 1), dark)), schedule, sky,
                                   SimpleNamespace(forecasts=None), None)


@pytest.mark.parametrize(("falls_at", "stops"), [((), False), ((0,), True), ((1,), True), ((0, 1), True)])
def test_freezing_rain_at_either_end_stops_everybody(monkeypatch, falls_at, stops):
    said = weather_said(monkeypatch, falls_at=falls_at)
    assert said.reasons.tolist() == [[BIT[Reason.ICING] if stops else 0]]


@pytest.mark.parametrize(("hindrance", "diverts"), [
    ({}, True), ({"storm": BIT[Reason.THUNDERSTORM]}, False), ({"falls_at": (1,)}, False),
    ({"night_rated": False, "dark": True}, False),      # whoever does not fly in the dark never gets there
    ({"dark": True}, True)])                            # of an instrument flight the dark stops nothing
def test_only_a_flight_that_leaves_can_arrive_below_minima(monkeypatch, hindrance, diverts):
    assert weather_said(monkeypatch, **hindrance).below.tolist() == [[diverts]]
    assert weather_said(monkeypatch, **hindrance, below=False).below.tolist() == [[False]]


def test_storms_at_the_end_of_a_way_count_as_those_at_its_beginning_and_those_between_as_the_mean():
    points = SimpleNamespace(at=np.arange(9), slot=np.arange(3), way=np.arange(3), points=np.full(3, 3),
                             cell=np.arange(3)[:, None], layers=None, limits=None, icing=None)
    storms = np.array([[0.4, 0.0, 0.0], [0.0, 0.0, 0.4], [0.0, 0.3, 0.0]]).ravel()
    cloud = SimpleNamespace(extent_at=lambda *_: (np.full(9, 3000.0), np.full(9, 5000.0)),
                            icing_rank_at=lambda *_: np.array([0.0, 0.44, 0.46]))
    surface = SimpleNamespace(looked=lambda: (None, np.zeros(9), np.zeros(0)), clouds=cloud,
                              climate=SimpleNamespace(assumptions=A),
                              storms=SimpleNamespace(coverage_at=lambda *_: storms, storm=SimpleNamespace(read=None)))
    found = enroute_of(points, surface, 3)
    assert found.end_coverage[:, 0].tolist() == pytest.approx([0.4, 0.4, 0.0])
    assert found.mean_coverage[:, 0].tolist() == pytest.approx([0.4 / 3, 0.4 / 3, 0.1])
    assert found.line_share[:, 0].tolist() == pytest.approx([1 / 3] * 3)        # a quarter covered closes a point
    assert found.ices[:, 0].tolist() == [True, True, False]                     # believed in 45 of 100


@pytest.mark.parametrize(("picture", "line", "stops"), [
    (False, 0.49, False), (False, 0.5, True), (True, 0.59, False), (True, 0.6, True)])
def test_a_picture_of_the_weather_takes_a_pilot_farther_into_a_line(picture, line, stops):
    none = np.zeros((1, 1))
    enroute = SimpleNamespace(line_share=none + line, end_coverage=none, mean_coverage=none)
    plan = SimpleNamespace(assumptions=A, equipment=SimpleNamespace(weather_on_board=picture))
    bits, _ = storm_bits(plan, enroute, np.zeros(1, dtype=int), one_hour())
    assert bool(bits[0]) is stops


@pytest.mark.parametrize(("deviation_c", "closed"), [
    (1.0, False),       # 0.2 degrees at 8,000 ft, where the standard is -0.8: rain
    (0.5, True),        # -0.3
    (-19.0, True),      # -19.8
    (-19.5, False)])    # -20.3: too cold to ice
def test_cloud_ices_from_freezing_to_twenty_below(deviation_c, closed):
    assert iced(7500.0, 8500.0, deviation_c, level_ft=8000.0) is closed
