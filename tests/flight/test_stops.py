from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.flight.stops import MAX_FLIGHTS, CoarseFlight, StopSearch, StopWishes, itineraries, itinerary

FLIGHT = CoarseFlight(tas_kt=150.0, fuel_flow_gph=10.0, overhead_h=0.1, overhead_gal=2.0)


def line(*miles: float) -> np.ndarray:
    """Return distances between places along a straight line."""
    at = np.array(miles)
    return np.abs(at[:, None] - at[None, :])


def test_a_flight_within_the_tanks_is_direct():
    assert itinerary(line(0, 150, 300), FLIGHT, 40.0, 9.0, 0.0, StopWishes(0.5)) == (0, 2)


def test_one_stop_where_the_tanks_are_short_by_hand():
    # 600 nm need 42 gal; with 30 aboard 420 nm are in reach: one stop, at 300 or at 400, the same distance in all.
    path = itinerary(line(0, 100, 300, 400, 600), FLIGHT, 30.0, 9.0, 0.0, StopWishes(0.5))
    assert path in {(0, 2, 4), (0, 3, 4)}


def test_a_comfort_limit_adds_stops_of_its_own():
    # 2 h less overhead are 285 nm: 600 nm take three flights.
    path = itinerary(line(0, 200, 280, 400, 560, 600), FLIGHT, 100.0, 2.0, 0.0, StopWishes(0.5))
    assert len(path) == 4


def test_none_where_a_gap_is_too_wide():
    assert itinerary(line(0, 100, 900), FLIGHT, 40.0, 9.0, 0.0, StopWishes(0.5)) is None


def test_no_more_flights_than_anybody_flies():
    gaps = line(*np.arange(0.0, 100.0 * (MAX_FLIGHTS + 2), 100.0))
    assert itinerary(gaps, FLIGHT, 10.0, 9.0, 0.0, StopWishes(0.5)) is None


@given(seed=st.integers(0, 2**32 - 1), head=st.floats(-30, 60))
def test_every_flight_of_an_itinerary_is_within_fuel_and_comfort(seed, head):
    random = np.random.default_rng(seed)
    lat, lon = 41.0 + random.normal(0, 1.0, 12), np.sort(random.uniform(-104.0, -92.0, 12))
    nm = StopSearch(lat, lon).distances_nm()
    path = itinerary(nm, FLIGHT, 28.0, 2.3, head, StopWishes(0.6))
    if path is None:
        return
    assert (path[0], path[-1]) == (0, 11)
    for a, b in pairwise(path):
        assert float(FLIGHT.gallons(nm[a, b], head)) <= 28.0
        assert float(FLIGHT.hours(nm[a, b], head)) <= 2.3


@given(seed=st.integers(0, 2**32 - 1), less=st.floats(0.3, 0.95))
def test_more_payload_never_flies_further(seed, less):
    # Payload takes fuel: with less of it no way opens that was shut, and none takes less time.
    random = np.random.default_rng(seed)
    nm = StopSearch(41.0 + random.normal(0, 1.0, 10), np.sort(random.uniform(-104.0, -92.0, 10))).distances_nm()
    full, short = (itinerary(nm, FLIGHT, gal, 9.0, 0.0, StopWishes(0.6)) for gal in (40.0, 40.0 * less))
    if short is not None:
        assert full is not None
        assert _hours(nm, full) <= _hours(nm, short) + 1e-9


def _hours(nm, path):
    return sum(float(FLIGHT.hours(nm[a, b], 0.0)) for a, b in pairwise(path)) + 0.6 * (len(path) - 2)


@given(seed=st.integers(0, 2**32 - 1))
def test_the_path_found_is_the_shortest_of_all(seed):
    random = np.random.default_rng(seed)
    nm = StopSearch(41.0 + random.normal(0, 1.0, 6), np.sort(random.uniform(-104.0, -96.0, 6))).distances_nm()
    found = itinerary(nm, FLIGHT, 20.0, 9.0, 10.0, StopWishes(0.6))
    best = min((_plan_hours(nm, p) for p in _all_paths(6)), default=np.inf)
    assert (np.inf if found is None else _plan_hours(nm, found)) == pytest.approx(best)


def _all_paths(n: int) -> list[tuple[int, ...]]:
    from itertools import permutations
    return [(0, *middle, n - 1) for k in range(MAX_FLIGHTS) for middle in permutations(range(1, n - 1), k)]


def _plan_hours(nm, path):
    hours = [float(FLIGHT.hours(nm[a, b], 10.0)) for a, b in pairwise(path)]
    gallons = [float(FLIGHT.gallons(nm[a, b], 10.0)) for a, b in pairwise(path)]
    return sum(hours) + 0.6 * (len(path) - 2) if max(gallons) <= 20.0 and max(hours) <= 9.0 else np.inf


def test_the_direct_flight_is_always_offered_first():
    found = itineraries(line(0, 300, 600), FLIGHT, np.array([30.0]), 9.0, np.array([-20.0, 0.0, 40.0]), StopWishes(0.5))
    assert found[0] == (0, 2)
    assert (0, 1, 2) in found


def test_nobody_flies_against_a_wind_as_fast_as_the_aircraft():
    assert np.isinf(FLIGHT.hours(np.array([10.0, 100.0]), 148.0)).all()


def test_a_stop_lies_towards_the_middle_and_not_short_of_the_end():
    # 600 nm in a row, four hours at 150 kt: the middle costs 10 nm to the side, the field 42 nm before home nothing.
    places = np.array([0.0, 300.0, 558.0, 600.0])
    nm = np.abs(places[:, None] - places[None, :])
    nm[1, [0, 2, 3]] += 10.0
    nm[:, 1] = nm[1, :]
    plain, wanted, even = (itinerary(nm, FLIGHT, 100.0, 3.9, 0.0, StopWishes(0.5, *wishes))
                           for wishes in ((), (60.0, 0.0), (0.0, 0.05)))
    assert plain == (0, 2, 3)
    assert wanted == even == (0, 1, 3)


def test_a_short_hop_is_flown_where_there_is_no_other_way():
    assert itinerary(line(0, 558, 600), FLIGHT, 100.0, 3.9, 0.0, StopWishes(0.5, 60.0, 0.05)) == (0, 1, 2)
