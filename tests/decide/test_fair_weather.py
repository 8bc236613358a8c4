"""When an empty aircraft is flown over: the first hour of day in which both places are above minima."""

from types import SimpleNamespace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from missionsim.decide.leg_weather import FORTNIGHT_H, FairWeather
from missionsim.world.random_fields.hours import HOURS, NEW_YEAR_INDEX
from missionsim.world.surface.place_spans import PlaceSpans
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

DAWN_H, DUSK_H = 8.0, 16.0


def fair_weather(good, longitude_deg=0.0):
    """Return a look at weather that is `good` [place, hour] or not."""
    climate = SimpleNamespace(longitude_deg=[longitude_deg, 0.0], cell=lambda place, hour: 0 * place + 0 * hour)
    field = SimpleNamespace(hours=lambda place, hour, count: 1.0 * good[place, hour + np.arange(count)[:, None]])
    surface = SimpleNamespace(climate=climate, place_spans=PlaceSpans(climate, field))
    return FairWeather(surface, np.ones((2, MONTHS, BLOCKS)), (DAWN_H, DUSK_H))


def first_fair_h(good, time_h, solar_h):
    """Return what hour by hour of a fortnight finds."""
    for index in range(max(int(np.ceil(time_h)) + NEW_YEAR_INDEX, 0), HOURS)[:FORTNIGHT_H]:
        begins_h = index - NEW_YEAR_INDEX
        if good[:, index].all() and DAWN_H <= (begins_h + solar_h) % 24.0 <= DUSK_H:
            return begins_h
    return begins_h


@given(st.integers(0, 2**32), st.floats(-80.0, 9335.0), st.sampled_from([0.9, 0.3, 0.02, 0.0]),
       st.floats(-180.0, 180.0))
def test_it_is_the_first_one_that_a_search_hour_by_hour_finds(seed, time_h, share, longitude_deg):
    good = np.random.default_rng(seed).random((2, HOURS)) < share
    found = fair_weather(good, longitude_deg).next_fair_h(0, 1, time_h)
    assert found == first_fair_h(good, time_h, longitude_deg / 15.0)


def test_it_waits_for_both_places_and_for_the_day():
    good = np.zeros((2, HOURS), dtype=bool)
    hour = NEW_YEAR_INDEX + 240
    good[0, hour + 9:], good[1, hour + 11:hour + 17] = True, True
    look = fair_weather(good)
    assert look.next_fair_h(0, 1, 245.5) == 251.0       # the one opens at nine, the other at eleven
    assert look.next_fair_h(0, 1, 251.2) == 252.0
    assert look.next_fair_h(0, 1, 255.1) == 256.0       # the last hour of day
    assert look.next_fair_h(0, 1, 256.1) == 240.0 + FORTNIGHT_H + 16.0      # night until the other closes for good
