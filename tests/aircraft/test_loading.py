from __future__ import annotations

import itertools
from dataclasses import fields

import numpy as np
import pytest
from aircraft_cases import NAMES, demo, profile, whole
from hypothesis import given
from hypothesis import strategies as st

from missionsim.aircraft import loading
from missionsim.aircraft.loading import (
    arrange,
    empty_weight_lb,
    envelope_margin_in,
    inside,
    max_fuel_gal,
    most_bags_lb,
    weight_and_cg,
    zero_fuel_margin_lb,
)
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()
# Concave on purpose: a notch in the aft side between 40 and 60.
NOTCHED = np.array([(0.0, 0.0), (0.0, 100.0), (20.0, 100.0), (10.0, 60.0), (10.0, 40.0), (20.0, 0.0)])


def test_pilot_alone_sits_in_front_and_everything_adds_up():
    a = arrange(profile(), [[190.0, 0.0, 0.0]], [20.0], A)
    assert a.station_lb[0].tolist() == [190.0, 0.0, 20.0]
    assert a.zero_fuel_weight_lb[0] == 1710.0
    assert a.zero_fuel_moment_lb_in[0] == pytest.approx(1500 * 40 + 190 * 37 + 20 * 95)


def test_weight_and_moment_are_whole_whatever_is_loaded():
    people = np.array([[190.0, 180.0, 170.0, 160.0, 150.0, 140.0], [190.0, 0.0, 0.0, 0.0, 0.0, 0.0]])
    a = arrange(profile(), people, [30.0, 900.0], A)
    np.testing.assert_allclose(a.station_lb.sum(axis=1), people.sum(axis=1) + np.array([30.0, 900.0]))
    assert a.seats_ok.tolist() == [False, True]
    assert a.bags_ok.tolist() == [True, False]


def test_one_place_for_bags_is_filled_alike_from_either_end(monkeypatch):
    people, bags_lb = [[190.0, 180.0, 170.0], [150.0, 90.0, 0.0], [190.0, 200.0, 210.0]], [0.0, 90.0, 400.0]
    found = arrange(profile(), people, bags_lb, A)
    monkeypatch.setattr(loading, "BAG_ORDERS", (-1, 1))
    other = arrange(profile(), people, bags_lb, A)
    for f in fields(found):
        np.testing.assert_array_equal(getattr(found, f.name), getattr(other, f.name))


def test_of_two_places_bags_go_where_the_balance_wants_them():
    """By hand, pilot alone with 100 lb: nose-heavy they go aft (margin 4.0 in for 3.0 in front), tail-heavy forward."""
    stations = [{"name": "front", "kind": "seat", "arm_in": 37.0, "seats": 2},
                {"name": "nose", "kind": "baggage", "arm_in": 10.0, "max_lb": 100.0},
                {"name": "aft", "kind": "baggage", "arm_in": 95.0, "max_lb": 100.0}]
    for arm, put in ((40.0, [190.0, 0.0, 100.0]), (45.0, [190.0, 100.0, 0.0])):
        a = arrange(profile(weights__empty_arm_in=arm, stations=stations, identity__seats=2), [[190.0]], [100.0], A)
        assert a.station_lb[0].tolist() == put


def test_the_heavier_guest_sits_where_the_balance_wants_it():
    """A nose-heavy aircraft wants the heavy guest behind, a tail-heavy one in front: each against trying every way."""
    for arm in (36.0, 44.5):
        p = profile(weights__empty_arm_in=arm, stations__0__seats=2)
        a = arrange(p, [[190.0, 250.0, 110.0]], [0.0], A, fuel_gal=[20.0])
        options = []
        for seats in itertools.permutations([37.0, 73.0, 73.0], 2):
            moment = 1500 * arm + 190 * 37 + 250 * seats[0] + 110 * seats[1]
            options.append(min(float(inside(p, *weight_and_cg(p, 2050.0, moment, g, A))[1]) for g in (0.0, 20.0)))
        assert a.balance_margin_in[0] == pytest.approx(max(options))


def test_a_single_passenger_sits_in_front_as_long_as_that_is_inside_the_envelope():
    """Two in front is how it is flown: a better centre of gravity with the guest behind does not count."""
    level = profile(weights__empty_arm_in=37.0, stations__0__seats=2)
    front = arrange(level, [[190.0, 180.0, 0.0]], [0.0], A, fuel_gal=[20.0])
    assert front.station_lb[0].tolist() == [370.0, 0.0, 0.0]
    assert front.zero_fuel_moment_lb_in[0] == pytest.approx(1500 * 37.0 + 370 * 37.0)
    behind = 1500 * 37.0 + 190 * 37.0 + 180 * 73.0
    margins = [min(float(inside(level, *weight_and_cg(level, 1870.0, m, g, A))[1]) for g in (0.0, 20.0))
               for m in (front.zero_fuel_moment_lb_in[0], behind)]
    assert 0.0 < margins[0] < margins[1]
    nosy = profile(weights__empty_arm_in=34.0, stations__0__seats=2)
    back = arrange(nosy, [[190.0, 180.0, 0.0]], [0.0], A, fuel_gal=[20.0])
    assert back.station_lb[0].tolist() == [190.0, 180.0, 0.0]


def test_bags_ride_on_the_seat_beside_a_rider():
    # Three aboard leave one of the rear seats free: the baggage place and one seat's worth, and not a pound more.
    seat_lb = A["aircraft.cargo_per_free_seat_lb"]
    assert arrange(profile(), [[190.0, 180.0, 150.0]], [120.0 + seat_lb], A).bags_ok[0]
    assert not arrange(profile(), [[190.0, 180.0, 150.0]], [120.0 + seat_lb + 1.0], A).bags_ok[0]


def test_bags_that_do_not_fit_are_tied_down_on_free_seats_behind():
    a = arrange(profile(), [[190.0]], [300.0], A)
    assert a.station_lb[0].tolist() == [190.0, 180.0, 120.0]
    assert a.bags_ok[0]
    assert not arrange(profile(), [[190.0]], [120.0 + 2 * A["aircraft.cargo_per_free_seat_lb"] + 1.0], A).bags_ok[0]


def test_beyond_the_most_bags_no_arrangement_holds_and_three_aboard_may_have_just_that(rng):
    # 120 lb in their place, and of the two seats behind those that are free with two people in front.
    seat_lb = A["aircraft.cargo_per_free_seat_lb"]
    free = np.array([2, 2, 1, 0, 0])
    np.testing.assert_array_equal(most_bags_lb(profile(), np.arange(1, 6), A), 120.0 + seat_lb * free)
    for name in NAMES:
        people = np.where(rng.random((200, 6)) < 0.5, rng.uniform(30, 260, (200, 6)), 0.0)
        people[:, 0] = 190.0
        bags_lb = rng.uniform(0, 500, 200)
        most_lb = most_bags_lb(demo(name), (people > 0.0).sum(axis=1), A)
        assert not arrange(demo(name), people, bags_lb, A).bags_ok[bags_lb > most_lb + 1e-6].any()


def test_a_row_has_a_limit():
    p = profile(stations__1__max_lb=300.0)
    full = arrange(p, [[190.0, 200.0, 200.0, 200.0]], [0.0], A)
    assert full.seats_ok[0]
    assert not full.bags_ok[0]


def test_without_an_envelope_balance_is_not_checked():
    p = profile(envelope=..., weights__empty_arm_in=...)
    a = arrange(p, [[190.0, 250.0]], [100.0], A)
    assert not a.balance_checked
    assert a.balance_ok.all()
    assert np.isnan(a.balance_margin_in).all()
    assert inside(p, 2000.0, 500.0)[0]


@pytest.mark.parametrize(("figures", "empty"), [
    ({"empty_weight_lb": 1500.0}, 1500.0),
    ({"empty_weight_lb": {"low": 1480.0, "likely": 1510.0, "high": 1550.0}}, 1510.0),
    ({"useful_load_lb": 980.0}, 1520.0),
    ({"empty_weight_lb": "unknown", "useful_load_lb": {"low": 900.0, "likely": 950.0, "high": 990.0}}, 1550.0),
    ({"empty_weight_lb": {"low": 1480.0, "likely": 1510.0, "high": 1550.0}, "useful_load_lb": 988.0}, 1512.0),
    ({"useful_load_lb": "unknown", "brochure_useful_load_lb": 1000.0}, 1545.0),
])
def test_empty_weight_comes_from_the_better_known_figure(figures, empty):
    p = profile(weights={"max_takeoff_lb": 2500.0, "empty_arm_in": 40.0, **figures})
    assert empty_weight_lb(p, A) == empty


def test_drawn_useful_load_changes_the_empty_weight():
    p = profile(weights={"max_takeoff_lb": 2500.0, "empty_arm_in": 40.0, "useful_load_lb": "unknown",
                         "brochure_useful_load_lb": 1000.0})
    assert empty_weight_lb(p.changed({"weights.useful_load_lb": 940.0}), A) == 1560.0


def test_fuel_is_limited_by_tanks_and_by_weight():
    fuel = max_fuel_gal(profile(), [1700.0, 2350.0, 2560.0], A)
    np.testing.assert_allclose(fuel, [50.0, 25.0, -10.0])
    assert zero_fuel_margin_lb(profile(weights__max_zero_fuel_lb=2300.0), 2350.0) == -50.0


def test_tanks_fill_in_their_order():
    p = profile(tanks=[{"name": "tips", "usable_gal": 20.0, "arm_in": 60.0, "order": 2},
                       {"name": "left", "usable_gal": 10.0, "arm_in": 40.0}, {"name": "right", "usable_gal": 30.0,
                                                                              "arm_in": 48.0}])
    weight, cg = weight_and_cg(p, 2000.0, 80_000.0, np.array([0.0, 20.0, 50.0]), A)
    mains = (10 * 40 + 30 * 48) / 40
    np.testing.assert_allclose(weight, [2000.0, 2120.0, 2300.0])
    np.testing.assert_allclose(cg * weight, [80_000.0, 80_000 + 6 * 20 * mains, 80_000 + 6 * (40 * mains + 10 * 60)])


@pytest.mark.parametrize(("cg", "weight", "margin"), [
    (5.0, 50.0, 5.0), (15.0, 50.0, -5.0), (15.0, 90.0, 2.5), (-1.0, 50.0, -1.0), (0.0, 50.0, 0.0), (10.0, 50.0, 0.0),
    (5.0, 100.0, 5.0), (15.0, 100.0, 5.0), (19.0, 10.0, -1.5), (4.0, 130.0, 4.0),
])
def test_margin_in_a_concave_outline(cg, weight, margin):
    assert envelope_margin_in(NOTCHED, np.array(weight), np.array(cg)) == pytest.approx(margin, abs=1e-6)


@given(st.floats(-5, 25), st.floats(1, 99))
def test_inside_agrees_with_winding(cg, weight):
    """An independent test of the same outline: the angles to the corners add up to a full turn, or to none."""
    away = NOTCHED - (cg, weight)
    angle = np.arctan2(away[:, 1], away[:, 0])
    turns = np.diff(np.append(angle, angle[0]))
    winding = abs(((turns + np.pi) % (2 * np.pi) - np.pi).sum()) / (2 * np.pi)
    margin = float(envelope_margin_in(NOTCHED, np.array(weight), np.array(cg)))
    if abs(margin) > 1e-3:
        assert (margin > 0.0) == (winding > 0.5)


def test_trips_are_loaded_together_as_each_alone(rng):
    made = profile()
    people = np.where(rng.random((12, 4)) < 0.7, rng.uniform(40.0, 260.0, (12, 4)), 0.0)
    people[:, 0], bags = rng.uniform(120.0, 260.0, 12), rng.uniform(0.0, 260.0, 12)
    together = arrange(made, people, bags, A)
    for k in range(len(bags)):
        alone = arrange(made, people[k], bags[k:k + 1], A)
        assert together.station_lb[k].tolist() == alone.station_lb[0].tolist()
        assert together.zero_fuel_moment_lb_in[k] == pytest.approx(alone.zero_fuel_moment_lb_in[0], rel=1e-12)
        assert (together.seats_ok[k], together.bags_ok[k]) == (alone.seats_ok[0], alone.bags_ok[0])
        # The bags ride somewhere, all of them.
        assert float(alone.station_lb.sum()) == pytest.approx(float(people[k].sum() + bags[k]))


def test_no_trips_are_no_loads():
    found = arrange(profile(), np.zeros((0, 4)), np.zeros(0), A)
    assert found.station_lb.shape == (0, 3)
    assert found.balance_ok.tolist() == []


def test_too_heavy_is_not_inside_but_keeps_its_balance_margin():
    ok, margin = inside(profile(), [2500.0, 2501.0], [44.0, 44.0])
    assert ok.tolist() == [True, False]
    np.testing.assert_allclose(margin, [3.5, 3.5], atol=1e-5)


@pytest.mark.parametrize("name", NAMES)
def test_demo_aircraft_balance_with_ordinary_loads(name):
    """Pilot alone with full tanks, a couple, a family: all inside, as any aircraft must be (common practice)."""
    people = np.array([[195.0, 0, 0, 0], [195.0, 165.0, 0, 0], [195.0, 165.0, 120.0, 90.0]])
    a = arrange(whole(name), people, [30.0, 60.0, 80.0], A)
    assert a.balance_checked
    assert a.balance_ok.all()
    assert a.seats_ok.all()
    assert a.bags_ok.all()


def test_demo_candidates_carry_unlike_loads():
    useful = {name: demo(name).max_takeoff_lb - empty_weight_lb(demo(name), A) for name in NAMES}
    assert 1020 <= useful["retractable_260"] <= 1080
    assert 1200 <= useful["carrier_230"] <= 1290
    assert 1430 <= useful["boosted_six"] <= 1530
