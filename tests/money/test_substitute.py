from __future__ import annotations

import pytest
from money_cases import candidate, columns, priced, terms, trip

from missionsim.money.categories import CODE, Category
from missionsim.money.prices import prices_of


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


def test_a_completed_trip_needs_no_substitute(lost):
    assert lost(trip(), terms()) == (0.0, 0.0)


def test_near_places_are_driven_in_as_many_cars_as_it_takes(lost):
    one = 280.0 * 1.2 * 1852.0 / 1609.344 * 0.70
    assert lost(trip(outcome="refused", people=5), terms())[0] == pytest.approx(one, abs=0.005)
    assert lost(trip(outcome="refused", people=6), terms())[0] == pytest.approx(2 * one, abs=0.01)


def test_far_places_are_flown_by_airline_times_people_and_dearer_when_it_must_be(lost):
    far = {"total_nm": 1_000.0, "farthest_nm": 500.0}
    assert lost(trip(outcome="refused", people=3), terms(**far))[0] == pytest.approx(3 * 300.0)
    assert lost(trip(outcome="refused", people=3), terms(**far, must_go=True))[0] == pytest.approx(3 * 300.0 * 1.9)


def test_bags_beyond_the_allowance_go_as_freight(lost):
    far = {"total_nm": 1_000.0, "farthest_nm": 500.0}
    row = trip(outcome="refused", people=1)
    assert lost(row, terms(**far, bags_lb=250.0))[0] - lost(row, terms(**far))[0] == pytest.approx(60.0 + 200 * 1.2)


def test_an_optional_trip_is_lost_at_its_stated_value(lost):
    assert lost(trip(outcome="refused"), terms(value=75.0))[0] == pytest.approx(75.0)


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


def test_time_counts_for_everybody_and_for_the_substitute_too(lost):
    assert lost(trip(people=3), terms(), value_of_time=20.0)[1] == pytest.approx(4.0 * 3 * 20.0)
    refused = trip(outcome="refused", door_to_door_h=0.0, people=1)
    assert lost(refused, terms(), value_of_time=20.0)[1] == pytest.approx(280.0 * 1.2 / 48.0 * 20.0)
    assert lost(refused, terms(value=75.0), value_of_time=20.0)[1] == 0.0
