from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pytest
from astral import Observer
from astral.sun import dawn, dusk
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.world.daylight import DAYS, Daylight


def exact_h(lat, lon, year, day, event):
    zone = timezone(timedelta(hours=lon / 15))
    moment = event(Observer(lat, lon), date(year, 1, 1) + timedelta(days=day), 6.0, zone)
    return (moment - datetime(year, 1, 1, tzinfo=UTC)) / timedelta(hours=1)


@pytest.mark.parametrize("place", [(40.97, -98.31), (49.0, -125.0), (25.0, -80.0), (55.9, -160.0), (45.0, 179.9)])
def test_interpolation_stays_within_a_minute_of_every_single_day(place):
    found = Daylight.at(*place, 2025)
    for day in range(0, DAYS, 3):
        assert found.dawn_h[day] == pytest.approx(exact_h(*place, 2025, day, dawn), abs=1 / 60)
        assert found.dusk_h[day] == pytest.approx(exact_h(*place, 2025, day, dusk), abs=1 / 60)


@pytest.mark.published
@pytest.mark.parametrize(("lat", "lon"), [(40.97, -98.31), (47.5, -122.3), (26.0, -80.1)])
def test_length_of_the_day_follows_from_the_suns_declination(lat, lon):
    # Source: Spencer, Fourier series representation of the position of the sun, Search 2 (1971); the sun's centre 6
    # degrees below the horizon at latitude lat. An independent way to the same hours.
    found = Daylight.at(lat, lon, 2025)
    day = np.arange(365)
    g = 2 * np.pi * (day + 0.5 - lon / 360) / 365
    declination = (0.006918 - 0.399912 * np.cos(g) + 0.070257 * np.sin(g) - 0.006758 * np.cos(2 * g)
                   + 0.000907 * np.sin(2 * g) - 0.002697 * np.cos(3 * g) + 0.00148 * np.sin(3 * g))
    phi = np.radians(lat)
    hour_angle = np.arccos((np.sin(np.radians(-6)) - np.sin(phi) * np.sin(declination))
                           / (np.cos(phi) * np.cos(declination)))
    length_h = np.degrees(hour_angle) * 2 / 15
    assert (found.dusk_h - found.dawn_h)[:365] == pytest.approx(length_h, abs=4 / 60)
    equation_min = 229.18 * (0.000075 + 0.001868 * np.cos(g) - 0.032077 * np.sin(g) - 0.014615 * np.cos(2 * g)
                             - 0.040849 * np.sin(2 * g))
    noon_h = 24.0 * day + 12 - lon / 15 - equation_min / 60
    assert ((found.dusk_h + found.dawn_h) / 2)[:365] == pytest.approx(noon_h, abs=3 / 60)


def test_dark_at_midnight_light_at_noon():
    home = Daylight.at(40.97, -98.31, 2025)
    days = np.arange(366)
    assert home.is_dark(24.0 * days + 0.5 + 98.31 / 15).all()
    assert not home.is_dark(24.0 * days + 12 + 98.31 / 15).any()
    assert home.is_dark(1.0)  # evening of 31 December, before the table begins
    assert home.is_dark(-72.0 + 4.0)


def test_the_edge_itself_dawn_is_light_and_dusk_is_dark():
    home = Daylight.at(40.97, -98.31, 2025)
    assert not home.is_dark(home.dawn_h[100])
    assert home.is_dark(home.dawn_h[100] - 1e-6)
    assert home.is_dark(home.dusk_h[100])
    assert not home.is_dark(home.dusk_h[100] - 1e-6)


def test_far_north_there_is_no_night_in_june_and_no_day_in_december():
    arctic = Daylight.at(75.0, -100.0, 2025)
    june, december = 24 * 171 + np.arange(24.0), 24 * 354 + np.arange(24.0)
    assert not arctic.is_dark(june).any()
    assert arctic.is_dark(december).all()
    fairbanks = Daylight.at(64.8, -147.7, 2025)
    assert not fairbanks.is_dark(june).any()
    assert 0 < fairbanks.is_dark(december).mean() < 1


@settings(max_examples=15)
@given(st.floats(-54, 72), st.floats(-180, 180), st.sampled_from([2024, 2025]))
def test_days_follow_each_other(lat, lon, year):
    found = Daylight.at(lat, lon, year)
    assert np.isfinite(found.dawn_h).all()
    assert (found.dawn_h <= found.dusk_h).all()
    assert (found.dusk_h[:-1] <= found.dawn_h[1:] + 0.8).all()  # solar days of 24 h are only mean ones
    noon = 24.0 * np.arange(DAYS) + 12 - lon / 15
    assert (found.day_of(noon) == np.arange(DAYS)).all()
    assert ((found.dawn_h <= noon + 0.4) & (found.dusk_h >= noon - 0.4)).all()
