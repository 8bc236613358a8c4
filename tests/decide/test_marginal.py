"""The edges of a pilot's own rules, by hand: a little short is marginal and said so, more is refused."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from decide_cases import FIELD_FT, FUEL, RULES, TRIPS, Plain, decided, plan, still, taking_off
from year_cases import SLOTS

from missionsim.base.axes import take
from missionsim.base.words import BIT, Mark, Reason
from missionsim.decide.candidate_plan import Directions, FieldRows
from missionsim.decide.decide import OptionTimes, _best_choice, decide
from missionsim.decide.surface_weather import FixedSky, LegWeather
from missionsim.flight.rules import Rules

INSIDE = np.arange(SLOTS) <= TRIPS.last_slot[0]


def ruled(made, rules):
    return replace(made, pilot=replace(made.pilot, rules=rules))


def climbing(least_fpm, tolerance):
    """The plain aircraft climbs 600 ft/min at any level and weight."""
    made = plan()
    limits = replace(made.level_limits, least_climb_fpm=np.full(4, least_fpm, np.float32), tolerance_share=tolerance)
    return replace(made, level_limits=limits)


def runway(length_ft, margin, tolerance, tail_kt=3.0):
    """2,000 ft in calm, 20 ft less for a knot of head wind; the runway is used from the north end alone."""
    row = np.arange(4)
    fields = FieldRows(row, TRIPS.from_place, Directions.of(np.zeros((4, 1))), np.full((4, 1), length_ft),
                       np.ones((4, 1)), np.ones((4, 1), dtype=bool), np.zeros(4),
                           np.zeros((4, 2), dtype=np.int8))
    rules = replace(RULES, runway_margin=margin, max_tailwind_kt=tail_kt, tolerance_share=tolerance)
    return ruled(plan(runways=taking_off(fields)), rules)


@pytest.mark.parametrize(("least_fpm", "tolerance", "refused", "marked"), [
    (600.0, 0.03, False, False), (602.0, 0.03, False, True),    # 2 ft/min short of the pilot's own 602
    (618.0, 0.03, False, True), (619.0, 0.03, True, False),     # 618 less 3 % is 599.5, 619 less 3 % is 600.4
    (602.0, 0.0, True, False)])
def test_a_climb_short_of_the_own_least_is_marginal_within_the_tolerance(least_fpm, tolerance, refused, marked):
    decisions, rows = decided(climbing(least_fpm, tolerance))
    assert bool((decisions.reasons[:, INSIDE] & BIT[Reason.CLIMB]).all()) is refused
    assert bool(decisions.structural.any()) is refused
    assert (decisions.marks[:, INSIDE] == (Mark.MARGINAL if marked else 0)).all()
    assert bool((plan().cells.hours(rows.marginal)[:, INSIDE] == BIT[Reason.CLIMB]).all()) is marked


def test_wind_in_full_limits_takes_no_mark_away():
    weather = LegWeather.fair(TRIPS)
    weather = replace(weather, marginal=np.zeros(weather.reasons.shape, np.uint32))
    made = climbing(602.0, 0.03)
    loads = made.aircraft.loads(np.full((2, 2), 200.0), np.zeros(2))
    decisions, _ = decide(made, TRIPS, made.cells.air(still(), made.rows.lane), FixedSky(np.full(2, FIELD_FT)), weather,
                          loads)
    assert (decisions.marks[:, INSIDE] == Mark.MARGINAL).all()


def test_a_level_with_the_climb_wanted_goes_before_a_quicker_marginal_one():
    # In 60 kt of tail wind at 8,000 ft the upper level is far quicker, but climbs less than wanted there.
    made = climbing(605.0, 0.03)
    slow = made.table.coefficient["climb_rate_fpm"].copy()
    slow[0] = np.array([610.0, 600.0])
    made = replace(made, table=replace(made.table, coefficient={**made.table.coefficient, "climb_rate_fpm": slow}))
    _, rows = decided(made)
    assert set(rows.plans.level_ft.tolist()) == {5000.0}
    assert not rows.marginal.any()


@pytest.mark.parametrize(("length_ft", "margin", "tolerance", "refused", "marked"), [
    (3000.0, 1.5, 0.03, False, False), (2999.0, 1.5, 0.03, False, True),
    (2911.0, 1.5, 0.03, False, True), (2909.0, 1.5, 0.03, True, False),     # 2,000 ft x 1.455 = 2,910 ft
    (2999.0, 1.5, 0.0, True, False),
    (2020.0, 1.02, 0.05, False, True),                                      # 5 % off 1.02 stops at 1: 2,000 ft
    (1999.0, 1.02, 0.05, True, False), (1999.0, 1.0, 0.05, True, False)])   # less than the flight manual asks for
def test_a_runway_short_of_the_own_margin_is_marginal_but_never_short_of_the_flight_manual(
        length_ft, margin, tolerance, refused, marked):
    decisions, rows = decided(runway(length_ft, margin, tolerance))
    assert bool((decisions.reasons[:, INSIDE] & BIT[Reason.RUNWAY]).all()) is refused
    assert bool((plan().cells.hours(rows.marginal)[:, INSIDE] == BIT[Reason.RUNWAY]).all()) is marked
    assert (decisions.marks[:, INSIDE] == (Mark.MARGINAL if marked else 0)).all()


@pytest.mark.parametrize(("behind_kt", "refused", "marked"), [(3.0, False, False), (3.08, False, True),
                                                              (3.1, True, False)])
def test_tail_wind_has_the_tolerance_of_an_own_rule(behind_kt, refused, marked):
    sky = FixedSky(np.full(2, FIELD_FT), wind_from_deg=180.0, wind_kt=behind_kt)
    decisions, rows = decided(runway(9000.0, 1.5, 0.03), sky=sky)
    assert bool((decisions.reasons[:, INSIDE] & BIT[Reason.WIND]).all()) is refused
    assert bool((plan().cells.hours(rows.marginal)[:, INSIDE] == BIT[Reason.WIND]).all()) is marked


def test_fuel_and_weight_have_no_tolerance():
    # One gallon less than needed, with the widest tolerance: refused as before.
    _, rows = decided()
    need_gal = float(rows.required_gal[0, 0])
    made = ruled(plan(fuel=replace(FUEL, usable_gal=need_gal - 0.1)), replace(RULES, tolerance_share=0.05))
    assert (decided(made)[0].reasons[:, INSIDE] & BIT[Reason.RANGE]).all()

    class Light(Plain):
        max_landing_lb = float(rows.takeoff_lb[0, 0]) - 150.0

    made = ruled(plan(aircraft=Light()), replace(RULES, tolerance_share=0.05))
    assert (decided(made)[0].reasons[:, INSIDE] & BIT[Reason.PAYLOAD]).all()


def test_an_itinerary_that_meets_all_own_rules_goes_before_a_marginal_one_and_that_before_none():
    made = plan()
    blocks = SimpleNamespace(first=np.array([0]), block=np.zeros(2, dtype=int))
    made = SimpleNamespace(fuel=made.fuel, cells=SimpleNamespace(legs=blocks))
    hours = np.array([1.0, 2.0])
    of = OptionTimes(hours, hours, np.zeros(2), hours)
    free, bit = np.zeros((1, 2), np.uint32), np.uint32(BIT[Reason.CLIMB])
    first, second = np.array([[bit, 0]], np.uint32), np.array([[0, bit]], np.uint32)
    assert _best_choice(made, free, first, of).tolist() == [[1]]
    assert _best_choice(made, second, first, of).tolist() == [[0]]


def test_limits_of_rows_keep_their_tolerance():
    assert take(climbing(600.0, 0.03).level_limits, "row", np.array([2])).tolerance_share == 0.03
    assert Rules.__dataclass_fields__["tolerance_share"].default == 0.0
