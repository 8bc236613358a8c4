"""What travelling otherwise needs of a trip, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.study.prepare import other_ways as under_test
from missionsim.study.prepare.itineraries import alternates


def place(ident, region="US-NE", lon=-98.0):
    return SimpleNamespace(ident=ident, region=region, latitude_deg=0.0, longitude_deg=lon)


def test_a_road_is_as_crooked_as_the_two_regions_it_joins(assumptions):
    plain, mountains = assumptions["cost.road_factor"]["plain"], assumptions["cost.road_factor"]["mountains"]
    assert under_test.road_factor(place("A"), place("B"), assumptions) == plain < mountains
    for a, b in (("US-NE", "US-CO"), ("US-CO", "US-NE")):
        assert under_test.road_factor(place("A", a), place("B", b), assumptions) == 0.5 * (plain + mountains)


def test_every_leg_has_a_way_to_the_airline_at_both_ends_and_a_ferry_to_an_island(assumptions, monkeypatch):
    airports = [place("HOME"), place("KACK", lon=-97.0)]
    places = SimpleNamespace(airports=airports, row=["HOME", "KACK"].index)
    trip = SimpleNamespace(stops=("HOME", "KACK", "HOME"), destinations=("KACK",), bags_lb=0.0, must_go=False, adults=1,
                           children=0, nights=0, substitute_usd=None, substitute_h=None, optional_value_usd=None,
                           moved_usd=None, moved_h=None)
    monkeypatch.setattr(under_test, "access_nm", lambda end, *_: {"HOME": 10.0, "KACK": 3.0}[end.ident])
    monkeypatch.setattr(under_test, "TripTerms", lambda *given: given)
    found = under_test.trip_terms([trip], places, None, assumptions)
    total, road, ferries, to_airline = found[0], *found[8:11]
    assert total[0] == pytest.approx(2 * 60.0, abs=0.2)         # a degree along the equator, there and back
    assert road[0] == pytest.approx(total[0] * assumptions["cost.road_factor"]["plain"])
    assert (ferries[0], to_airline[0]) == (2.0, 26.0)


def test_the_field_next_door_is_no_alternate(assumptions):
    # Fields 10, 13 and 20 miles to the east; the nearest that is far enough off serves for the direction.
    lon = np.array([-98.0 + nm / 60.0 for nm in (10.0, 13.0, 20.0)])
    table = SimpleNamespace(
        latitude_deg=np.zeros(3), longitude_deg=lon, approach_rank=np.ones(3),
        longest_lighted_paved_ft=np.full(3, 5000.0), has_fuel=np.ones(3, dtype=bool), public=np.ones(3, dtype=bool),
        within=lambda *_: np.arange(3))
    places = SimpleNamespace(airports=[place("HERE")], table=table, with_weather=lambda found, _: found,
                             row_of_table=lambda row: 100 + row)
    assert alternates(places, 0, 6, 3000.0, assumptions) == [101]
