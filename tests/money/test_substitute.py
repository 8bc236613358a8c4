"""How trips are made otherwise, and what that costs and takes: worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from money_cases import candidate, columns, priced, terms, trip

from missionsim.base.words import Mark
from missionsim.money.categories import CODE, Category
from missionsim.money.other_ways import by_airline, by_car, other_ways
from missionsim.money.prices import prices_of
from missionsim.money.substitute import travel_of

SM = 1852.0 / 1609.344
FAR = {"total_nm": 1_000.0, "nights": 3}


@pytest.fixture
def lost(assumptions, places):
    def usd(row, trip_terms, value_of_time=0.0):
        prices = prices_of(assumptions, {"value_of_time_usd_per_h": value_of_time})
        ledger = priced(candidate("R4"), *columns([], [row]), replications=[0], terms=trip_terms, places=places,
                        prices=prices, assumptions=assumptions)
        table = ledger.by_category([0])[0] / 100.0
        assert ledger.net_cost_cents([0])[0] - ledger.cost_cents([0])[0] == round(
            100 * (table[CODE[Category.SUBSTITUTE]] + table[CODE[Category.TIME]]))
        return table[CODE[Category.SUBSTITUTE]], table[CODE[Category.TIME]]

    return usd


@pytest.fixture
def asked(assumptions):
    return prices_of(assumptions)


def ways(trip_terms, assumptions, value_of_time=0.0):
    return other_ways(trip_terms, prices_of(assumptions, {"value_of_time_usd_per_h": value_of_time}), assumptions)


def test_a_completed_trip_needs_no_substitute(lost):
    assert lost(trip(), terms()) == (0.0, 0.0)


def test_a_short_trip_is_driven_in_as_many_cars_as_it_takes(lost):
    one = 280.0 * 1.2 * SM * 0.70
    assert lost(trip(outcome="refused"), terms(adults=5))[0] == pytest.approx(one, abs=0.005)
    assert lost(trip(outcome="refused"), terms(adults=4, children=2))[0] == pytest.approx(2 * one, abs=0.01)


def test_an_airline_takes_fares_freight_and_a_rented_car(assumptions, asked):
    fare = 180.0 + 0.12 * 1_000.0
    made = by_airline(terms(**FAR, adults=3, access_nm=48.0), asked, assumptions)
    assert made.usd[0] == pytest.approx(3 * fare + 48.0 * SM * 0.70 + 4 * 80.0)
    assert made.hours[0] == pytest.approx(2 * 5.0 + 1_000.0 / 400.0 + 1.0)
    soon = by_airline(terms(**FAR, adults=3, access_nm=48.0, must_go=True), asked, assumptions)
    assert soon.usd[0] - made.usd[0] == pytest.approx(3 * fare * 0.9)
    bags = by_airline(terms(**FAR, adults=3, access_nm=48.0, bags_lb=250.0), asked, assumptions)
    assert bags.usd[0] - made.usd[0] == pytest.approx(60.0 + 100 * 1.2)
    assert not np.isfinite(by_airline(terms(**FAR, access_nm=np.nan), asked, assumptions).usd[0])


def test_driving_takes_days_and_nights(assumptions, asked):
    long = by_car(terms(**FAR, road_nm=1_200.0), asked, assumptions)  # 12.5 h each way: a night on each
    assert (long.hours[0], long.more_nights[0]) == (25.0, 0.0)
    assert long.usd[0] == pytest.approx(1_200.0 * SM * 0.70 + 2 * 130.0)
    day = by_car(terms(total_nm=500.0, road_nm=600.0), asked, assumptions)  # 12.5 h there and back in a day
    assert (day.hours[0], day.more_nights[0]) == (12.5 + 6.0, 1.0)  # the evening after ten hours at the wheel
    assert day.usd[0] == pytest.approx(600.0 * SM * 0.70 + 130.0)
    air = by_airline(terms(total_nm=3_000.0, access_nm=48.0), asked, assumptions)  # 18.5 h: home on the next day
    assert (air.hours[0], air.more_nights[0]) == (pytest.approx(18.5 + (16.0 - 9.25)), 1.0)
    island = by_car(terms(ferries=2, nights=1), asked, assumptions)
    assert island.usd[0] == pytest.approx(280.0 * 1.2 * SM * 0.70 + 2 * 2 * 50.0)
    assert island.hours[0] == pytest.approx(280.0 * 1.2 / 48.0 + 2 * 2.0)


def test_people_choose_by_dollars_and_hours_and_keep_their_dates(assumptions):
    far = terms(**FAR, road_nm=1_200.0, adults=1)
    car = 1_200.0 * SM * 0.70 + 2 * 130.0 + 25.0 * 25.0   # 1,852 dollars with hours at 25
    air = 300.0 + 4 * 80.0 + 25.0 * 12.5                 # 932
    assert air < car
    assert ways(far, assumptions).by_airline[0]
    family = terms(**FAR, road_nm=1_200.0, adults=2, children=3)  # 3.2 adults: 3,227 by car, 2,820 by air
    assert ways(family, assumptions).by_airline[0]
    crowd = terms(total_nm=500.0, road_nm=600.0, nights=3, adults=5)  # 2,046 by car, 2,940 by air
    assert not ways(crowd, assumptions).by_airline[0]
    day = terms(total_nm=500.0, road_nm=600.0, adults=5)  # cheaper by car, but that takes a night more
    found = ways(day, assumptions)
    assert (found.by_airline[0], found.on_dates[0]) == (True, True)
    stuck = ways(terms(total_nm=500.0, road_nm=600.0, access_nm=np.nan), assumptions)
    assert (stuck.by_airline[0], stuck.on_dates[0]) == (False, False)


def test_what_the_trip_says_of_itself_comes_first(assumptions):
    found = ways(terms(own_usd=444.0, own_h=9.0), assumptions)
    assert (found.usd[0], found.hours[0]) == (444.0, 9.0)


def test_an_optional_trip_is_given_up_only_where_it_is_worth_less_than_the_way(lost):
    car = 280.0 * 1.2 * SM * 0.70
    assert lost(trip(outcome="refused"), terms(value=75.0))[0] == pytest.approx(75.0)
    assert lost(trip(outcome="refused"), terms(value=1_000.0))[0] == pytest.approx(car, abs=0.005)


def test_a_trip_broken_off_pays_for_the_places_missed_and_the_way_home(lost):
    whole = lost(trip(outcome="refused"), terms(places=2))[0]
    broken = {"outcome": "broken_off"}
    assert lost(trip(**broken, places_reached=1), terms(places=2))[0] == pytest.approx(0.5 * whole, abs=0.01)
    assert lost(trip(**broken, places_reached=2, came_home_otherwise=True), terms(places=2))[0] == pytest.approx(
        0.5 * whole, abs=0.01)
    assert lost(trip(**broken, places_reached=1, came_home_otherwise=True), terms(places=2))[0] == pytest.approx(
        0.75 * whole, abs=0.01)
    optional = lost(trip(**broken, places_reached=0, came_home_otherwise=True), terms(places=2, value=40.0))[0]
    assert optional == pytest.approx(40.0 + 0.5 * whole, abs=0.01)


def test_time_counts_for_everybody_as_weighted_and_for_the_other_way_too(lost):
    flown = trip(nights_forced=1)  # the hours that were waited stand in those of the trip
    assert lost(flown, terms(adults=2, children=1), value_of_time=20.0)[1] == pytest.approx(
        4.0 * (0.5 + 1.0 + 0.4) * 20.0)
    refused = trip(outcome="refused", door_to_door_h=0.0)
    assert lost(refused, terms(adults=1), value_of_time=20.0)[1] == pytest.approx(280.0 * 1.2 / 48.0 * 20.0)
    assert lost(refused, terms(value=75.0), value_of_time=20.0)[1] == 0.0


def test_who_did_not_fit_drives_the_whole_trip_and_both_hours_count(lost, assumptions, asked):
    # Two of four adults in one car: 336 nm by road at 48 kt are 7 h each, where those on board need 4 h door to door.
    made, four = trip(apart=2), terms(adults=4)
    usd, worth = lost(made, four, value_of_time=20.0)
    assert usd == pytest.approx(280.0 * 1.2 * SM * 0.70, abs=0.005)
    assert worth == pytest.approx(20.0 * (4.0 * (0.5 + 1.0) + 2 * 7.0))
    found = travel_of(columns([], [made, trip(row=0)])[1], four, asked, assumptions)
    assert (found.apart.tolist(), found.apart_h.tolist()) == ([2.0, 0.0], [7.0, 0.0])
    assert found.car_usd.tolist() == pytest.approx([280.0 * 1.2 * SM * 0.70, 0.0])
    assert found.flown_h.tolist() == [4.0, 4.0]


@pytest.mark.parametrize("outcome", ["completed", "broken_off"])
def test_a_trip_moved_to_another_day_costs_what_it_says(lost, assumptions, asked, outcome):
    asks = terms(moved_usd=80.0, moved_h=1.5)
    made = trip(outcome=outcome, departed_h=34.0 + 24.0, marks=int(Mark.MOVED | Mark.MARGINAL))
    # The pilot's hour counts half: 1.5 h of two adults at 20 dollars are 45 beyond those on board.
    assert lost(made, asks, value_of_time=20.0) == pytest.approx((80.0, 20.0 * 1.5 * (4.0 + 1.5)))
    assert lost(trip(outcome=outcome, marks=int(Mark.MARGINAL)), asks, value_of_time=20.0) == pytest.approx(
        (0.0, 20.0 * 1.5 * 4.0))
    evening = trip(outcome=outcome, departed_h=34.0 - 16.0, marks=int(Mark.MOVED))
    assert lost(evening, asks)[0] == 0.0
    found = travel_of(columns([], [made])[1], asks, asked, assumptions)
    assert (found.flown_h.tolist(), found.lost_usd.tolist()) == ([5.5], [80.0])


def test_hours_are_told_by_the_way_the_trip_was_made(assumptions, asked):
    rows = [trip(), trip(row=1, outcome="refused", door_to_door_h=0.0),
            trip(row=2, outcome="broken_off", places_reached=1, came_home_otherwise=True, door_to_door_h=3.0)]
    made = travel_of(columns([], rows)[1], terms(3), asked, assumptions)
    assert made.flown_h.tolist() == [4.0, 0.0, 3.0]
    assert made.car_h == pytest.approx([0.0, 7.0, 3.5])
    assert made.airline_h.tolist() == [0.0, 0.0, 0.0]


def test_those_who_fly_in_need_a_car(assumptions, places, asked):
    def ground(row, **more):
        ledger = priced(candidate("R4"), *columns([], [row]), replications=[0], terms=terms(**more), places=places,
                        prices=asked, assumptions=assumptions)
        return ledger.by_category([0])[0][CODE[Category.GROUND]] / 100.0

    assert ground(trip(), nights=2, adults=6) == 3 * 2 * 45.0
    assert ground(trip(outcome="refused", places_reached=0)) == 0.0


def test_a_trip_that_says_its_own_way_is_never_booked_as_airline(assumptions):
    far = {**FAR, "access_nm": 20.0}
    assert ways(terms(**far), assumptions).by_airline.tolist() == [True]
    said = ways(terms(**far, own_usd=900.0, own_h=12.0), assumptions)
    assert (said.usd.tolist(), said.hours.tolist(), said.by_airline.tolist()) == ([900.0], [12.0], [False])
